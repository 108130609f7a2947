# Which Debian packages a build needs, and how to get them. Read by campaigns/first.sh and tests/run.sh; not run by itself.

RC_BUILD_PACKAGES="gcc libc6-dev cmake ninja-build pkg-config libcjson-dev libhdf5-dev zlib1g-dev"

# need PACKAGE...: install what is missing, as root or through sudo; otherwise say what is missing and return 1.
need() {
    if ! command -v dpkg-query >/dev/null 2>&1; then
        echo "This is no Debian system: nothing is installed here; these packages' counterparts are needed: $*" >&2
        return 0
    fi
    missing=
    for package in "$@"; do
        case $(dpkg-query -W -f='${db:Status-Status}\n' "$package" 2>/dev/null) in
        *not-installed*|*config-files*|'') missing="$missing $package" ;;
        esac
    done
    [ -n "$missing" ] || return 0
    if [ "$(id -u)" -eq 0 ]; then
        as_root=
    elif command -v sudo >/dev/null 2>&1 && { sudo -n true 2>/dev/null || [ -t 0 ]; }; then
        as_root=sudo
    else
        echo "Missing packages:$missing" >&2
        echo "Neither root nor sudo is at hand to install them. Run as root: apt-get install$missing" >&2
        return 1
    fi
    echo "Installing what is missing:$missing" >&2
    # shellcheck disable=SC2086
    { $as_root apt-get -qq update &&
        $as_root env DEBIAN_FRONTEND=noninteractive apt-get -qq -y --no-install-recommends install $missing; } >&2 || {
        echo "apt-get could not install:$missing" >&2
        return 1
    }
}

# One line that says how many processors may be used.
processors() {
    nproc 2>/dev/null || getconf _NPROCESSORS_ONLN 2>/dev/null || echo 1
}
