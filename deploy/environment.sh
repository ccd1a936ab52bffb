# Makes a virtual environment and installs into it; read by try.sh and test.sh, which have moved to the project's folder.
# VENV is where it goes, LOCK the lock file. Nothing is installed again while the lock file is the same.

find_python() {
    for candidate in "${PYTHON:-python3}" python3 python3.14 python3.13 python3.12 python3.11; do
        if command -v "$candidate" >/dev/null 2>&1 &&
            "$candidate" -c 'import sys; raise SystemExit(sys.version_info < (3, 11))' 2>/dev/null; then
            echo "$candidate"
            return
        fi
    done
    echo "Python 3.11 or newer is needed and was not found." >&2
    return 1
}

stamp_now() {
    cksum "$LOCK" deploy/build.lock pyproject.toml | cksum
}

# Where it goes: beside the project, or into the user's cache where the project belongs to somebody else.
folder_for() {
    if [ -w "$1" ] || { [ ! -e "$1" ] && [ -w . ]; } ||
        { [ -x "$1/bin/python" ] && [ "$(cat "$1/installed" 2>/dev/null)" = "$(stamp_now)" ]; }; then
        echo "$1"
    else
        echo "${XDG_CACHE_HOME:-${HOME:-/tmp}/.cache}/coldwright/$(pwd | cksum | tr -d ' ')/$1"
    fi
}

install_locked() {
    python=$(find_python)
    stamp=$(stamp_now)
    if [ ! -x "$VENV/bin/python" ]; then
        "$python" -m venv "$VENV" || {
            echo "The virtual environment could not be made (on Debian: apt install python3-venv)." >&2
            return 1
        }
    fi
    if [ "$(cat "$VENV/installed" 2>/dev/null)" != "$stamp" ]; then
        "$VENV/bin/python" -m pip install --quiet --quiet --disable-pip-version-check --require-hashes -r deploy/build.lock
        "$VENV/bin/python" -m pip install --quiet --quiet --disable-pip-version-check --require-hashes \
            --use-pep517 --no-build-isolation -r "$LOCK"
        "$VENV/bin/python" -m pip install --quiet --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
        "$VENV/bin/python" -m compileall -q api plugins || true # else the first start does it
        echo "$stamp" >"$VENV/installed"
    fi
}
