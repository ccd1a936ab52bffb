#!/bin/sh
# Shows the main job: starts the service with a fresh store, puts in an invented fleet and an invented order, prints the plan.
# Needs Python 3.11 or newer. Leaves nothing behind but the virtual environment.
set -eu
from=$(pwd)
cd "$(dirname "$0")/.."
unset VIRTUAL_ENV PYTHONPATH PYTHONHOME || true
LOCK=deploy/requirements.lock
. deploy/environment.sh
VENV=${COLDWRIGHT_VENV:-$(folder_for .venv)}
install_locked
exec "$VENV/bin/python" deploy/try.py --from "$from" "$@"
