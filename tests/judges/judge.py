"""What programs in Python make of files: `judge.py JUDGE FILE...`.

One line a fault; the exit code is 1 with a fault and 3 when the judge is not here.
"""

import csv
import io
import json
import os
import re
import sys

INSTALLED = os.path.join(os.path.dirname(os.path.abspath(__file__)), "../../target/judges/python")
# Criteria of geojson-validator. Not asked: nine decimals of a degree are wanted (0.1 mm), and a zone
# may have a hole.
INVALID = ["unclosed", "less_three_unique_nodes", "exterior_not_ccw", "interior_not_cw"]
PROBLEMATIC = [
    "inner_and_exterior_ring_intersect", "self_intersection", "duplicate_nodes", "3d_coordinates",
    "outside_lat_lon_boundaries", "crosses_antimeridian",
]
# A spreadsheet computes what starts so; the full-width forms too, in some.
LEADS = tuple("=+-@\t\r\n＝＋－＠")
NUMBER = re.compile(r"[+-]?[0-9.]+([eE][+-]?[0-9]+)?")


def geojson_validator(path):
    import geojson_validator as judge
    from loguru import logger

    logger.remove()
    with open(path, encoding="utf-8") as file:
        document = json.load(file)
    yield from ([found] if (found := judge.validate_structure(document)) else [])
    found = judge.validate_geometries(
        document, criteria_invalid=INVALID, criteria_problematic=PROBLEMATIC
    )
    for kind in ["invalid", "problematic", "skipped_validation"]:
        if found[kind]:
            yield f"{kind}: {found[kind]}"


def gpxpy(path):
    import gpxpy as judge

    with open(path, encoding="utf-8") as file:
        gpx = judge.parse(file, version="1.1")
    if not (gpx.waypoints or gpx.routes or gpx.tracks):
        yield "nothing is in it"
    for point in gpx.waypoints:
        if not point.name:
            yield f"a waypoint without a name at {point.latitude}, {point.longitude}"


def validate_gpkg(path):
    from osgeo_utils.samples import validate_gpkg as judge

    for requirement, fault in judge.check(path, abort_at_first_error=False):
        yield f"requirement {requirement}: {fault}"


def validate_cog(path):
    from osgeo_utils.samples import validate_cloud_optimized_geotiff as judge

    warnings, errors, _ = judge.validate(path, full_check=True)
    yield from warnings + errors


def rio_cogeo(path):
    from rio_cogeo.cogeo import cog_validate

    # The program ends with 0 even for what it calls not valid; its function says so.
    valid, errors, warnings = cog_validate(path, strict=True)
    yield from errors + warnings
    if not valid and not errors:
        yield "not valid"


def rfc4180(path):
    with open(path, "rb") as file:
        raw = file.read()
    text = raw.decode("utf-8-sig")
    if raw.startswith(b"\xef\xbb\xbf") == text.isascii():
        yield "a byte-order mark where all is ASCII, or none where it is not"
    outside = re.sub(r'"(?:[^"]|"")*"', "", text)
    if re.search(r"(?<!\r)\n|\r(?!\n)", outside) or not text.endswith("\r\n"):
        yield "a line does not end in CRLF"
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    for number, row in enumerate(rows, 1):
        if len(row) != len(rows[0]):
            yield f"record {number} has {len(row)} fields, the head {len(rows[0])}"
        for cell in row:
            if cell.startswith(LEADS) and not NUMBER.fullmatch(cell):
                yield f"record {number} has a formula: {cell!r}"


def duckdb(path):
    import duckdb as judge

    with open(path, encoding="utf-8-sig", newline="") as file:
        rows = list(csv.reader(file, strict=True))
    table = judge.sql("select * from read_csv($path, all_varchar = true)", params={"path": path})
    read = [table.columns] + [[cell or "" for cell in row] for row in table.fetchall()]
    for number, (found, written) in enumerate(zip(read, rows), 1):
        if found != written:
            yield f"record {number} is read as {found}, the csv module of Python reads {written}"
    if len(read) != len(rows):
        yield f"{len(read)} records are read, the csv module of Python reads {len(rows)}"


def main(name, paths):
    judge = globals()[name]
    # The modules of GDAL belong to the system's Python and want its numpy.
    if not name.startswith("validate_"):
        sys.path.insert(0, INSTALLED)
    faults = 0
    for path in paths:
        try:
            found = list(judge(path))
        except ImportError as error:
            print(f"{name} is not here: {error}", file=sys.stderr)
            return 3
        except Exception as error:  # a judge says no in its own way
            found = [f"{type(error).__name__}: {error}"]
        for fault in found:
            print(f"{path}: {fault}")
            faults += 1
    return 1 if faults else 0


if __name__ == "__main__":
    # A reader leaves no side file beside what it judges.
    os.environ["GDAL_PAM_ENABLED"] = "NO"
    sys.exit(main(sys.argv[1], sys.argv[2:]))
