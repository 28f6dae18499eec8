"""Ordinary kriging of a million vines from 200 counts by general libraries, beside
`benches/estimate.rs`.

The same lattice of 1000 rows of 1000 vines, 2.5 m by 1.2 m, 200 vines by lot, a spherical variation
that is given, 32 neighbours, means and variances, one core. It does less than ours: no means by
planting, no counting noise, no surface without the nugget.
"""

import os
import sys
import time

for pool in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[pool] = "1"

try:
    import numpy as np
    import pykrige
    import scipy
    from pykrige.ok import OrdinaryKriging
    from scipy.spatial import cKDTree
except ImportError as missing:
    print(f"the peers are left out: {missing}")
    sys.exit(0)

ROWS, VINES, COUNTS, NEIGHBOURS = 1000, 1000, 200, 32
NUGGET, PSILL, RANGE = 1.0, 4.0, 900.0
AT_ONCE = 20_000

ALONG, ACROSS = 1.2 * np.arange(VINES), 2.5 * np.arange(ROWS)


def counts():
    lot = np.random.default_rng(1)
    vines = lot.choice(ROWS * VINES, COUNTS, replace=False)
    at = np.column_stack([ALONG[vines % VINES], ACROSS[vines // VINES]])
    wave = np.sin(at[:, 0] / 150) + np.cos(at[:, 1] / 200)
    return at, 15 + 2 * wave + lot.normal(size=COUNTS)


def by_pykrige(at, values):
    variation = {"psill": PSILL, "range": RANGE, "nugget": NUGGET}
    kriging = OrdinaryKriging(
        at[:, 0],
        at[:, 1],
        values,
        variogram_model="spherical",
        variogram_parameters=variation,
        exact_values=True,
    )
    return kriging.execute("grid", ALONG, ACROSS, backend="C", n_closest_points=NEIGHBOURS)


def covariance(distance):
    share = np.minimum(distance / RANGE, 1)
    return PSILL * (1 - 1.5 * share + 0.5 * share**3)


def by_numpy(at, values):
    along, across = np.meshgrid(ALONG, ACROSS)
    vines = np.column_stack([along.ravel(), across.ravel()])
    distances, nearest = cKDTree(at).query(vines, k=NEIGHBOURS)
    between = covariance(np.linalg.norm(at[:, None] - at[None], axis=2))
    np.fill_diagonal(between, PSILL + NUGGET)
    mean, variance = np.empty(len(vines)), np.empty(len(vines))
    for start in range(0, len(vines), AT_ONCE):
        some = nearest[start : start + AT_ONCE]
        system = np.ones((len(some), NEIGHBOURS + 1, NEIGHBOURS + 1))
        system[:, :-1, :-1] = between[some[:, :, None], some[:, None, :]]
        system[:, -1, -1] = 0
        right = np.ones((len(some), NEIGHBOURS + 1, 1))
        right[:, :-1, 0] = covariance(distances[start : start + AT_ONCE])
        weights = np.linalg.solve(system, right)[:, :, 0]
        mean[start : start + AT_ONCE] = (weights[:, :-1] * values[some]).sum(axis=1)
        explained = (weights * right[:, :, 0]).sum(axis=1)
        variance[start : start + AT_ONCE] = PSILL + NUGGET - explained
    return mean, variance


AT, VALUES = counts()
for name, work in (
    (f"PyKrige {pykrige.__version__}, compiled", by_pykrige),
    (f"numpy {np.__version__} and scipy {scipy.__version__}", by_numpy),
):
    start = time.perf_counter()
    mean, _ = work(AT, VALUES)
    took = time.perf_counter() - start
    print(f"{name}: {mean.size} vines in {took:.1f} s, one core, mean {mean.mean():.2f}")
