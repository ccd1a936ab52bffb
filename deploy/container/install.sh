#!/bin/sh
# Installs the locked dependencies and the project into the folder given, and removes what only the installation needs.
# The image is built with it; run it anywhere to see the same steps without a container engine.
set -eu
target=$1
"${PYTHON:-python3}" -m venv "$target"
"$target/bin/python" -m pip install --quiet --disable-pip-version-check --no-cache-dir --require-hashes -r deploy/build.lock
"$target/bin/python" -m pip install --quiet --disable-pip-version-check --no-cache-dir --require-hashes \
    --use-pep517 --no-build-isolation -r deploy/requirements.lock
"$target/bin/python" -m pip install --quiet --disable-pip-version-check --no-cache-dir --no-deps --no-build-isolation .
"$target/bin/python" -m pip uninstall --quiet --yes editables hatchling pathspec pluggy setuptools trove-classifiers
"$target/bin/python" -m pip uninstall --quiet --yes pip
find "$target" -type d -name tests -path '*/site-packages/*' -prune -exec rm -rf {} +
"$target/bin/python" -m compileall -q "$target/lib"
