#!/bin/sh
# Writes the lock files anew from pyproject.toml. Needs `uv` on the path; run it when a dependency changes.
set -eu
cd "$(dirname "$0")/.."
lock() {
    out=$1
    shift
    uv pip compile pyproject.toml --universal --python-version 3.11 --generate-hashes --no-annotate --no-header --quiet "$@" -o "$out"
}
# what builds the one dependency that comes as a source archive only
echo setuptools | uv pip compile - --universal --python-version 3.11 --generate-hashes --no-annotate --no-header --quiet \
    -o deploy/build.lock
# results of jobs as Parquet, for whoever wants them: a third as large as all the rest
grep -o '"pyarrow>[^"]*"' pyproject.toml | tr -d '"' | uv pip compile - --universal --python-version 3.11 --generate-hashes \
    --no-annotate --no-header --quiet -o deploy/parquet.lock
lock deploy/requirements.lock --extra install --extra postgres --extra scale --extra oidc
lock deploy/requirements-test.lock --extra install --extra postgres --extra scale --extra parquet --extra oidc --extra telemetry --extra dev
