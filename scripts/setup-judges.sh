#!/bin/sh
# Installs the programs of others that judge what is written: those of Debian, of npm (into
# tests/judges/node_modules) and of PyPI (into target/judges/python). Nothing is fetched when
# everything is there. What cannot be installed is named and left: the tests then say which judge
# did not look.
set -u
cd "$(dirname "$0")/.."
. scripts/apt.sh

lists=tests/judges
pip_to=target/judges/python
python=/usr/bin/python3 # Debian's own: the modules of GDAL are for no other.

# What was installed, by which Python: another of either is installed anew.
wanted() { "$python" --version 2>/dev/null; cat "$lists/requirements.txt"; }
python_done() { [ -x "$python" ] && wanted | cmp -s - "$pip_to/installed.txt"; }
# npm notes what it installed; a newer list of packages is installed again.
npm_done() {
    kept="$lists/node_modules/.package-lock.json"
    [ -e "$kept" ] && [ ! "$lists/package-lock.json" -nt "$kept" ]
}

need node nodejs
need npm npm
[ -n "${CHROMIUM:-}" ] || command -v chromium-browser >/dev/null 2>&1 ||
    command -v google-chrome >/dev/null 2>&1 || need chromium chromium
[ -n "${FIREFOX:-}" ] || command -v firefox >/dev/null 2>&1 || need firefox-esr firefox-esr
need ogrinfo gdal-bin
need /usr/lib/python3/dist-packages/osgeo_utils python3-gdal
need sqlite3 sqlite3
need Rscript r-base-core
need /usr/lib/R/site-library/sf r-cran-sf
need /usr/lib/R/site-library/terra r-cran-terra
need xmllint libxml2-utils
need pngcheck pngcheck
need qpdf qpdf
need pdftotext poppler-utils
need gpsbabel gpsbabel
need unzip unzip
python_done || "$python" -m pip --version >/dev/null 2>&1 || missing="$missing python3-pip"

if [ -n "$missing" ] && may_install "judging what is written"; then
    # One package that cannot be had must not keep the others away.
    apt_install --no-install-recommends $missing || for package in $missing; do
        apt_install --no-install-recommends "$package" ||
            echo "left out: $package could not be installed" >&2
    done
fi

npm_done || npm ci --prefix "$lists" --cache target/judges/npm --ignore-scripts --no-audit \
    --no-fund || echo "left out: npm ci failed in $lists" >&2

if ! python_done; then
    echo "installing the packages of $lists/requirements.txt (some 300 MB)"
    rm -rf "$pip_to"
    if "$python" -m pip install --quiet --disable-pip-version-check --root-user-action ignore \
        --no-cache-dir --no-deps --no-compile --only-binary :all: \
        --target "$pip_to" --requirement "$lists/requirements.txt"
    then
        wanted >"$pip_to/installed.txt"
    else
        echo "left out: the packages of $lists/requirements.txt could not be installed" >&2
    fi
fi
exit 0
