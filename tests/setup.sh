# Sourced by gallery/build.sh and the scripts of tests/: sees what the machine lacks and installs it with apt.
# Each line of a list is a package of Debian and Ubuntu and the command that succeeds when it is there, by whatever way
# it came; only what fails its probe is installed.

to_build='
gcc                compiles gcc
libc6-dev          compiles gcc
make               command -v make
cmake              recent_cmake
pkg-config         command -v pkg-config
libyaml-dev        pkg-config --exists yaml-0.1
libpango1.0-dev    pkg-config --exists pangocairo
libcairo2-dev      pkg-config --exists cairo-pdf
libpng-dev         pkg-config --exists libpng
libtiff-dev        pkg-config --exists libtiff-4
libjansson-dev     pkg-config --exists jansson
libpopt-dev        pkg-config --exists popt
fontconfig         command -v fc-list
fonts-dejavu-core  has_font
'
to_test='
libcmocka-dev      pkg-config --exists cmocka
clang              compiles clang
libclang-rt-dev    compiles clang -fsanitize=address,undefined
libomp-dev         compiles clang -fopenmp
clang-format       command -v clang-format
cppcheck           command -v cppcheck
'

compiles() {
    echo 'int main(void) { return 0; }' | "$@" -x c -o /dev/null -
}

has_font() {
    fc-list : family | grep -q 'DejaVu Sans'
}

recent_cmake() {
    cmake --version | awk 'NR == 1 { split($3, v, "."); ok = v[1] > 3 || (v[1] == 3 && v[2] >= 25) } END { exit !ok }'
}

# Prints the packages of a list whose probe fails.
missing_of() {
    echo "$1" | while read -r package probe; do
        [ -z "$package" ] || $probe >/dev/null 2>&1 || echo "$package"
    done
}

install_with_apt() {
    if [ "$(id -u)" -eq 0 ]; then
        as_root='env'
    elif command -v sudo >/dev/null; then
        as_root='sudo env'
    else
        echo "set-up: neither root nor sudo; install these first: $*" >&2
        return 1
    fi
    echo "set-up: installing $*"
    $as_root DEBIAN_FRONTEND=noninteractive apt-get -q update &&
        $as_root DEBIAN_FRONTEND=noninteractive apt-get -q install -y --no-install-recommends "$@"
}

# set_up LIST...: after it everything of the lists is there, or the script ends.
set_up() {
    missing=$(missing_of "$*")
    [ -n "$missing" ] || return 0
    if command -v apt-get >/dev/null; then
        # shellcheck disable=SC2086
        install_with_apt $missing || exit 1
        missing=$(missing_of "$*")
    fi
    if [ -n "$missing" ]; then
        echo "set-up: still missing (names of Debian packages):" $missing >&2
        exit 1
    fi
}

jobs=$(nproc 2>/dev/null || echo 2)
