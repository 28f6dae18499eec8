#!/bin/sh
# Installs what building needs on Debian 12 or 13, and says so first. Nothing is installed when
# everything is there.
set -eu

missing=""
need() { # a command, the Debian package that brings it
    command -v "$1" >/dev/null 2>&1 || missing="$missing $2"
}
need cc gcc
need c++ g++
need cmake cmake
need sqlite3 sqlite3
need pkg-config pkg-config

if ! command -v cargo >/dev/null 2>&1; then
    echo "catchwire needs Rust: install rustup from https://rustup.rs, then run this again" >&2
    exit 1
fi
[ -z "$missing" ] && exit 0

if ! command -v apt-get >/dev/null 2>&1; then
    echo "catchwire needs these to build PROJ:$missing; install them, then run this again" >&2
    exit 1
fi
if [ "$(id -u)" = 0 ]; then
    as_root=""
elif command -v sudo >/dev/null 2>&1 && sudo -n true 2>/dev/null; then
    as_root="sudo"
else
    echo "building PROJ needs packages that only root can install; run" >&2
    echo "    sudo apt-get update && sudo apt-get install --yes$missing" >&2
    echo "then run this again" >&2
    exit 1
fi
echo "installing what building needs:$missing"
$as_root apt-get update --quiet
$as_root env DEBIAN_FRONTEND=noninteractive apt-get install --yes --quiet $missing
