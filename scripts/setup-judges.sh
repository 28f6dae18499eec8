#!/bin/sh
# Installs what lets a browser judge map.html: node and Chromium of Debian, and the packages that
# tests/judges names. Nothing is installed when everything is there. Where it cannot be installed
# this says so and goes on: the test then says that nobody looked.
set -u
cd "$(dirname "$0")/.."

has_browser() {
    [ -n "${CHROMIUM:-}" ] || command -v chromium >/dev/null 2>&1 ||
        command -v chromium-browser >/dev/null 2>&1 || command -v google-chrome >/dev/null 2>&1
}

missing=""
command -v node >/dev/null 2>&1 || missing="$missing nodejs"
command -v npm >/dev/null 2>&1 || missing="$missing npm"
has_browser || missing="$missing chromium"

if [ -n "$missing" ]; then
    if ! command -v apt-get >/dev/null 2>&1; then
        echo "not looking at map.html in a browser: install$missing" >&2
        exit 0
    fi
    if [ "$(id -u)" = 0 ]; then
        as_root=""
    elif command -v sudo >/dev/null 2>&1 && sudo -n true 2>/dev/null; then
        as_root="sudo"
    else
        echo "not looking at map.html in a browser; to do so, run" >&2
        echo "    sudo apt-get update && sudo apt-get install --yes$missing" >&2
        exit 0
    fi
    echo "installing what looking at map.html in a browser needs:$missing"
    $as_root apt-get update --quiet
    $as_root env DEBIAN_FRONTEND=noninteractive apt-get install --yes --quiet \
        --no-install-recommends $missing ||
        { echo "not looking at map.html in a browser:$missing could not be installed" >&2; exit 0; }
fi

# npm notes what it installed; a newer list of packages is installed again.
kept=tests/judges/node_modules/.package-lock.json
if [ ! -e "$kept" ] || [ tests/judges/package-lock.json -nt "$kept" ]; then
    npm ci --prefix tests/judges --ignore-scripts --no-audit --no-fund ||
        echo "not looking at map.html in a browser: npm ci failed in tests/judges" >&2
fi
exit 0
