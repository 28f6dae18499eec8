# What setup.sh and setup-judges.sh share: which programs are missing, and who may install them.
# Read in with `.`; it runs nothing by itself.

missing=""

need() { # a program or a path, the Debian package that brings it
    case "$1" in
    /*) [ -e "$1" ] ;;
    *) command -v "$1" >/dev/null 2>&1 ;;
    esac || missing="$missing $2"
}

# Sets as_root to what runs a program as root. Says what to run and fails where nobody here may.
may_install() { # what it is for
    if ! command -v apt-get >/dev/null 2>&1; then
        echo "$1 needs these; install them, then run this again:$missing" >&2
        return 1
    fi
    if [ "$(id -u)" = 0 ]; then
        as_root=""
    elif command -v sudo >/dev/null 2>&1 && sudo -n true 2>/dev/null; then
        as_root="sudo"
    else
        echo "$1 needs packages that only root can install; run" >&2
        echo "    sudo apt-get update && sudo apt-get install --yes$missing" >&2
        echo "then run this again" >&2
        return 1
    fi
    echo "installing what $1 needs:$missing"
    $as_root apt-get update --quiet
}

apt_install() { # options and packages
    $as_root env DEBIAN_FRONTEND=noninteractive apt-get install --yes --quiet "$@"
}
