#!/bin/sh
# Installs what building needs on Debian 12 or 13, and says so first. Nothing is installed when
# everything is there.
set -eu
. "$(dirname "$0")/apt.sh"

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
may_install "building"
apt_install $missing
