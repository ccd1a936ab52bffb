#!/bin/sh
# Goes through what the image does, without a container engine: installs by the same steps into a temporary folder, then
# serves from it as another user, from a folder that it can't write to, and asks the health address. Needs the network.
set -eu
cd "$(dirname "$0")/../.."
folder=$(mktemp -d)
server=
finish() {
    if [ -n "$server" ]; then kill "$server" 2>/dev/null || true; wait "$server" 2>/dev/null || true; fi
    chmod -R u+w "$folder"
    rm -rf "$folder"
}
trap finish EXIT
mkdir "$folder/source" "$folder/root" "$folder/data" "$folder/tmp"
cp -R deploy/demo "$folder/data/demo"
cp -R LICENSE README.md pyproject.toml api plugins "$folder/source"
mkdir -p "$folder/source/deploy/container"
cp deploy/build.lock deploy/requirements.lock "$folder/source/deploy"
cp deploy/container/install.sh "$folder/source/deploy/container"
(cd "$folder/source" && sh deploy/container/install.sh "$folder/coldwright")
rm -rf "$folder/source"
chmod 755 "$folder"
chmod -R a-w "$folder/coldwright" "$folder/root"
as_user=
if [ "$(id -u)" = 0 ]; then
    chown -R 10001:10001 "$folder/data" "$folder/tmp"
    as_user="setpriv --reuid 10001 --regid 10001 --clear-groups"
fi
run() {
    cd "$folder/root"
    exec env -i PATH=/usr/bin:/bin TMPDIR="$folder/tmp" PYTHONDONTWRITEBYTECODE=1 COLDWRIGHT_REQUIRE_KEYS=1 \
        COLDWRIGHT_DATABASE_URL="sqlite:///$folder/data/store.sqlite3" $as_user "$folder/coldwright/bin/python" -m coldwright.cli "$@"
}
port=$("$folder/coldwright/bin/python" -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])')
(run assess "$folder/data/demo/order-process.json" --fleet "$folder/data/demo/fleet.json" --write "$folder/data/plan.pdf")
(run store migrate)
secret=$( (run keys create --tenant check --scopes calculate) | sed -n 's/^secret *//p')
(run serve --host 127.0.0.1 --port "$port") >"$folder/log" 2>&1 &
server=$!
"$folder/coldwright/bin/python" - "http://127.0.0.1:$port" "$secret" <<'END' || { cat "$folder/log"; exit 1; }
import sys, time, urllib.error, urllib.request
address, secret = sys.argv[1:]
opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
for _ in range(300):
    try:
        opener.open(address + "/health/ready", timeout=5)
        break
    except OSError:
        time.sleep(0.1)
else:
    raise SystemExit("not ready in time")
opener.open(address + "/health/live", timeout=5)
try:
    opener.open(address + "/v1/calculators", timeout=5)
except urllib.error.HTTPError as error:
    assert error.code == 401, error.code
else:
    raise SystemExit("answered without a key")
request = urllib.request.Request(address + "/v1/calculators", headers={"Authorization": f"Bearer {secret}"})
assert b"electrical.service" in opener.open(request, timeout=5).read()
END
if find "$folder/coldwright" "$folder/root" -newer "$folder/log" | grep -q .; then
    echo "something was written outside the data folder" >&2
    exit 1
fi
du -sh "$folder/coldwright" | cut -f1 | sed 's/^/installed size: /'
echo "The steps of the image work: not root, nothing written outside its data folder and /tmp."
