"""What operators install agrees with the service: ports, settings, addresses, metrics, users. Checked without an engine."""

import json
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
import yaml

from coldwright.cli import parser
from coldwright.registry import Registry
from coldwright.registry.remote import remote_in
from coldwright.service.app import all_endpoints
from coldwright.service.metrics import Metrics
from coldwright.service.settings import Settings

Manifests = dict[str, dict[str, Any]]
PORT = 8080
USER = 10001
SETTING = re.compile(r"COLDWRIGHT_([A-Z_]+)")
NOT_OF_THE_SERVICE = {"TEST_EVERY_CASE", "TEST_EXAMPLES", "VENV", "TEST_PROCESSES", "TEST_BEFORE", "TEST_FIGURES"}
"""Read by the shell scripts alone."""


@pytest.fixture(scope="session")
def paths(registry: Registry) -> set[str]:
    """Every address of the service."""
    return {e.path for e in all_endpoints(registry)}


def served_metrics() -> set[str]:
    """Names of all series that `/metrics` can hold."""
    metrics = Metrics()
    metrics.count_request("op", 200)
    metrics.count_answer("a.b", "acceptable", 0.1)
    metrics.refusals.labels("x").inc()
    metrics.count_items("t", "a.b", "acceptable", 1)
    metrics.count_put_back("t", "a.b", "x")
    metrics.show_backlog([("t", "a.b", 1, 1.0)])
    metrics.store_errors.labels("x").inc()
    lines = metrics.page().decode().splitlines()
    return {re.split(r"[{ ]", line)[0] for line in lines if line and not line.startswith("#")}


def text_files(deploy: Path) -> list[Path]:
    """Files that hold settings."""
    return [p for p in deploy.rglob("*") if p.is_file() and p.suffix not in (".lock", ".pyc")]


def test_every_setting_that_is_named_exists(deploy: Path) -> None:
    known = {name.upper() for name in Settings.__struct_fields__} | NOT_OF_THE_SERVICE
    named = {(p.name, name) for p in text_files(deploy) for name in SETTING.findall(p.read_text())}
    assert named
    assert not {(file, name) for file, name in named if name.rstrip("_") not in known}


def test_commands_that_are_run_are_commands(deploy: Path, manifests: Manifests) -> None:
    compose = yaml.safe_load((deploy / "compose.yaml").read_text())
    lines = [compose["services"]["migrate"]["command"]]
    for kind in ("Deployment", "Deployment of work", "Job"):
        lines += [c["args"] for c in manifests[kind]["spec"]["template"]["spec"]["containers"]]
    image = (deploy / "container" / "Containerfile").read_text()
    lines.append(json.loads(next(line[4:] for line in image.splitlines() if line.startswith("CMD ["))))
    unit = (deploy / "systemd" / "coldwright.service").read_text()
    lines += [line.split()[1:] for line in re.findall(r"(?m)^ExecStart(?:Pre)?=(.*)$", unit)]
    assert len(lines) == 7
    for line in lines:
        given = parser().parse_args([str(word) for word in line])
        if given.command == "serve":
            assert given.port == PORT


def test_probes_ask_addresses_that_exist(deploy: Path, manifests: Manifests, paths: set[str]) -> None:
    (container,) = manifests["Deployment"]["spec"]["template"]["spec"]["containers"]
    for probe, path in (("liveness", "/health/live"), ("readiness", "/health/ready"), ("startup", "/health/live")):
        asked = container[f"{probe}Probe"]["httpGet"]
        assert asked["path"] == path
        assert path in paths
        assert asked["port"] == container["ports"][0]["name"]
    assert container["ports"][0]["containerPort"] == PORT
    image = (deploy / "container" / "Containerfile").read_text()
    for address in re.findall(r"http://127\.0\.0\.1:(\d+)(/[a-z/]+)", image):
        assert address == (str(PORT), "/health/live")
    annotations = manifests["Deployment"]["spec"]["template"]["metadata"]["annotations"]
    assert annotations["prometheus.io/path"] in paths
    assert annotations["prometheus.io/port"] == str(PORT)


def test_the_image_runs_as_nobody_in_particular(deploy: Path) -> None:
    image = (deploy / "container" / "Containerfile").read_text()
    final = image.rsplit("\nFROM ", 1)[1]
    assert re.search(rf"(?m)^USER {USER}:{USER}$", final)
    assert final.index("USER ") < final.index("ENTRYPOINT")
    assert "COLDWRIGHT_REQUIRE_KEYS=1" in final
    assert f"EXPOSE {PORT}" in final
    assert image.count("\nFROM ") + image.startswith("FROM ") == 2
    assert "HEALTHCHECK" in final


def test_the_image_is_given_what_the_build_needs_and_nothing_else(deploy: Path) -> None:
    rules = (deploy / "container" / "Containerfile.dockerignore").read_text().split("\n")
    assert rules[0] == "**"
    let_in = {rule[1:] for rule in rules if rule.startswith("!")}
    project = deploy.parent
    assert all((project / name).exists() for name in let_in)
    install = (deploy / "container" / "install.sh").read_text()
    assert {"deploy/build.lock", "deploy/requirements.lock"} <= let_in
    assert "--require-hashes -r deploy/build.lock" in install
    assert "--use-pep517 --no-build-isolation -r deploy/requirements.lock" in install
    copied = (deploy / "container" / "check.sh").read_text()
    assert all(Path(name).name in copied for name in let_in)


def test_pods_may_write_nowhere_and_become_nobody_else(manifests: Manifests) -> None:
    for kind in ("Deployment", "Deployment of work", "Job"):
        spec = manifests[kind]["spec"]["template"]["spec"]
        assert spec["automountServiceAccountToken"] is False
        assert spec["securityContext"]["runAsNonRoot"] is True
        assert spec["securityContext"]["runAsUser"] == USER
        assert spec["securityContext"]["seccompProfile"] == {"type": "RuntimeDefault"}
        for container in spec["containers"]:
            assert container["securityContext"] == {
                "allowPrivilegeEscalation": False,
                "readOnlyRootFilesystem": True,
                "capabilities": {"drop": ["ALL"]},
            }
            assert "memory" in container["resources"]["limits"]
            assert [m["mountPath"] for m in container["volumeMounts"]] == ["/tmp"]


def test_labels_and_names_of_the_manifests_meet(manifests: Manifests) -> None:
    pod = manifests["Deployment"]["spec"]["template"]["metadata"]["labels"]
    for kind, at in (("Deployment", ("spec", "selector", "matchLabels")), ("Service", ("spec", "selector"))):
        wanted: Any = manifests[kind]
        for step in at:
            wanted = wanted[step]
        assert wanted.items() <= pod.items()
    assert manifests["PodDisruptionBudget"]["spec"]["selector"]["matchLabels"].items() <= pod.items()
    assert manifests["NetworkPolicy"]["spec"]["podSelector"]["matchLabels"].items() <= pod.items()
    assert (
        manifests["HorizontalPodAutoscaler"]["spec"]["scaleTargetRef"]["name"]
        == manifests["Deployment"]["metadata"]["name"]
    )
    work = manifests["Deployment of work"]
    assert (
        not manifests["Service"]["spec"]["selector"].items() <= work["spec"]["template"]["metadata"]["labels"].items()
    )
    target = manifests["HorizontalPodAutoscaler of work"]["spec"]["scaleTargetRef"]["name"]
    assert target == work["metadata"]["name"]
    job = manifests["Job"]["spec"]["template"]["metadata"]["labels"]
    assert not manifests["Service"]["spec"]["selector"].items() <= job.items()
    (container,) = manifests["Deployment"]["spec"]["template"]["spec"]["containers"]
    names = {next(iter(source.values()))["name"] for source in container["envFrom"]}
    assert names == {manifests["ConfigMap"]["metadata"]["name"], manifests["Secret"]["metadata"]["name"]}
    assert manifests["Service"]["spec"]["ports"][0]["targetPort"] == container["ports"][0]["name"]
    assert manifests["NetworkPolicy"]["spec"]["ingress"][0]["ports"][0]["port"] == PORT


def test_several_replicas_survive_one_being_moved(manifests: Manifests) -> None:
    spec = manifests["Deployment"]["spec"]
    assert spec["replicas"] >= 2
    assert manifests["PodDisruptionBudget"]["spec"]["minAvailable"] < spec["replicas"]
    assert manifests["HorizontalPodAutoscaler"]["spec"]["minReplicas"] == spec["replicas"]
    grace = spec["template"]["spec"]["terminationGracePeriodSeconds"]
    settings = manifests["ConfigMap"]["data"]
    assert grace > int(settings["COLDWRIGHT_SHUTDOWN_SECONDS"]) + 5  # the pause before it is told to stop
    for value in settings.values():
        assert isinstance(value, str)


def test_the_kustomization_lists_every_manifest(deploy: Path) -> None:
    folder = deploy / "kubernetes"
    listed = set(yaml.safe_load((folder / "kustomization.yaml").read_text())["resources"])
    present = {p.name for p in folder.glob("*.yaml")} - {"kustomization.yaml", "secret.example.yaml"}
    assert listed == present


@pytest.mark.skipif(shutil.which("kubectl") is None, reason="no kubectl here")
def test_the_kustomization_builds(deploy: Path) -> None:
    built = subprocess.run(
        ["kubectl", "kustomize", str(deploy / "kubernetes")], capture_output=True, text=True, check=False
    )
    assert built.returncode == 0, built.stderr
    documents = list(yaml.safe_load_all(built.stdout))
    assert all(d["metadata"].get("namespace", "coldwright") == "coldwright" for d in documents)
    assert "image: registry.example.com/coldwright:" in built.stdout


def test_compose_keeps_the_database_inside_and_the_service_read_only(deploy: Path) -> None:
    compose = yaml.safe_load((deploy / "compose.yaml").read_text())
    services = compose["services"]
    assert "ports" not in services["database"]
    assert services["api"]["ports"] == [f"127.0.0.1:{PORT}:{PORT}"]
    assert services["api"]["read_only"] is True
    assert services["api"]["cap_drop"] == ["ALL"]
    assert compose["networks"]["inside"]["internal"] is True
    assert services["api"]["depends_on"]["migrate"]["condition"] == "service_completed_successfully"
    build = services["api"]["build"]
    assert (deploy / build["context"] / build["dockerfile"]).resolve() == (
        deploy / "container" / "Containerfile"
    ).resolve()
    used = {s for service in services.values() for s in service.get("secrets", [])}
    assert used == set(compose["secrets"])
    volumes = {v.split(":")[0] for v in services["database"]["volumes"]}
    assert volumes == set(compose["volumes"])
    for name in ("migrate", "work"):  # the image's own check asks an address, and they have none
        assert services[name]["healthcheck"] == {"disable": True}


def test_no_secret_is_kept_with_the_project(deploy: Path) -> None:
    assert "secrets/" in (deploy / ".gitignore").read_text().split()
    secret = yaml.safe_load((deploy / "kubernetes" / "secret.example.yaml").read_text())
    assert ":PASSWORD@" in secret["stringData"]["COLDWRIGHT_DATABASE_URL"]


@pytest.mark.skipif(shutil.which("systemd-analyze") is None, reason="no systemd here")
def test_the_unit_is_sound_and_hardened(deploy: Path, tmp_path: Path) -> None:
    unit = tmp_path / "coldwright.service"
    text = (deploy / "systemd" / "coldwright.service").read_text()
    unit.write_text(text.replace("/opt/coldwright/bin/coldwright", "/bin/true"))
    verified = subprocess.run(["systemd-analyze", "verify", str(unit)], capture_output=True, text=True, check=False)
    complaints = [line for line in verified.stderr.splitlines() if "coldwright" in line]
    assert not complaints
    judged = subprocess.run(
        ["systemd-analyze", "security", "--offline=true", "--threshold=25", str(unit)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert judged.returncode == 0, judged.stdout[-400:]


def test_the_unit_waits_for_requests_in_flight(deploy: Path) -> None:
    unit = (deploy / "systemd" / "coldwright.service").read_text()
    assert int(re.findall(r"TimeoutStopSec=(\d+)", unit)[0]) > Settings().shutdown_seconds
    assert "--host 127.0.0.1" in unit
    assert "COLDWRIGHT_REQUIRE_KEYS=1" in unit  # a proxy calls from the loopback address, where nobody else is asked


def nginx() -> str | None:
    """The proxy's program, where it is installed."""
    return shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin")


@pytest.mark.skipif(nginx() is None or shutil.which("openssl") is None, reason="no nginx here")
def test_the_proxy_takes_its_configuration(deploy: Path, tmp_path: Path) -> None:
    key, certificate = tmp_path / "privkey.pem", tmp_path / "fullchain.pem"
    request = f"openssl req -x509 -newkey rsa:2048 -nodes -days 1 -subj /CN=x -keyout {key} -out {certificate}"
    subprocess.run(request.split(), capture_output=True, check=True)
    text = (deploy / "proxy" / "nginx.conf").read_text().replace("/etc/ssl/coldwright", str(tmp_path))
    (tmp_path / "site.conf").write_text(text)
    (tmp_path / "nginx.conf").write_text(
        f"pid {tmp_path}/pid; error_log stderr; events {{}}\nhttp {{ access_log off; include {tmp_path}/site.conf; }}\n"
    )
    tested = subprocess.run(
        [nginx() or "", "-t", "-c", str(tmp_path / "nginx.conf"), "-p", str(tmp_path)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert tested.returncode == 0, tested.stderr


def test_the_proxy_passes_batches_and_streams_and_hides_the_numbers(deploy: Path, paths: set[str]) -> None:
    text = (deploy / "proxy" / "nginx.conf").read_text()
    assert f"server 127.0.0.1:{PORT};" in text
    assert int(re.findall(r"client_max_body_size (\d+)m;", text)[0]) * 1024 * 1024 >= Settings().largest_batch_body
    stream = re.findall(r"location ~ (\S+) \{", text)
    assert len(stream) == 1
    streamed = {p for p in paths if re.search(stream[0], p.replace("{id}", "start-7"))}
    assert streamed == {"/v1/startups/{id}/events", "/v1/jobs/{id}/events"}
    jobs = re.findall(r"location = /v1/jobs \{[^}]*client_max_body_size (\d+)m;[^}]*proxy_request_buffering off;", text)
    assert int(jobs[0]) * 1024 * 1024 == Settings().largest_upload
    assert re.search(r"location = /metrics \{\s+return 404;", text)


def expressions(deploy: Path) -> list[str]:
    """Every query of the alerts and the dashboard."""
    groups = yaml.safe_load((deploy / "monitoring" / "alerts.yaml").read_text())["groups"]
    board = json.loads((deploy / "monitoring" / "dashboard.json").read_text())
    return [r["expr"] for g in groups for r in g["rules"]] + [t["expr"] for p in board["panels"] for t in p["targets"]]


def test_alerts_and_dashboard_ask_for_numbers_that_are_served(deploy: Path) -> None:
    served = served_metrics()
    asked = {name for e in expressions(deploy) for name in re.findall(r"\bcoldwright_\w+", e)}
    assert len(asked) >= 6
    assert not asked - served


def test_labels_that_are_asked_for_are_on_those_numbers(deploy: Path) -> None:
    labels = {
        "coldwright_requests_total": {"operation", "status"},
        "coldwright_evaluation_seconds_bucket": {"calculator", "le"},
        "coldwright_outcomes_total": {"calculator", "outcome"},
        "coldwright_problems_total": {"problem"},
        "coldwright_store_errors_total": {"kind"},
        "coldwright_plugins_set_aside": set(),
        "coldwright_job_items_total": {"tenant", "calculator", "outcome"},
        "coldwright_job_put_back_total": {"tenant", "calculator", "reason"},
        "coldwright_job_chunks_waiting": {"tenant", "calculator"},
        "coldwright_job_oldest_seconds": {"tenant", "calculator"},
    }
    page = served_metrics()
    assert set(labels) <= page
    for expression in expressions(deploy):
        names = re.findall(r"\bcoldwright_\w+", expression)
        grouped = {w.strip() for found in re.findall(r"by \(([^)]*)\)", expression) for w in found.split(",")}
        matched = set(re.findall(r"[{,]\s*(\w+)\s*[=!]", expression))
        known = {"job", "instance"}.union(*(labels[n] for n in names))
        assert grouped | matched <= known, expression


def test_every_alert_says_what_to_do(deploy: Path) -> None:
    groups = yaml.safe_load((deploy / "monitoring" / "alerts.yaml").read_text())["groups"]
    for rule in groups[0]["rules"]:
        assert {"summary", "action"} <= set(rule["annotations"])
        assert rule["labels"]["severity"] in ("page", "ticket")
        assert rule["expr"].count("(") == rule["expr"].count(")")


def test_panels_have_their_own_place(deploy: Path) -> None:
    board = json.loads((deploy / "monitoring" / "dashboard.json").read_text())
    cells = [
        (x, y)
        for p in board["panels"]
        for x in range(p["gridPos"]["x"], p["gridPos"]["x"] + p["gridPos"]["w"])
        for y in range(p["gridPos"]["y"], p["gridPos"]["y"] + p["gridPos"]["h"])
    ]
    assert len(cells) == len(set(cells))
    assert len({p["id"] for p in board["panels"]}) == len(board["panels"])


def test_shell_scripts_are_plain_sh(deploy: Path) -> None:
    scripts = [*deploy.glob("*.sh"), *(deploy / "container").glob("*.sh")]
    assert len(scripts) >= 7
    for script in scripts:
        checked = subprocess.run(["sh", "-n", str(script)], capture_output=True, text=True, check=False)
        assert checked.returncode == 0, checked.stderr
        assert "[[" not in script.read_text()
        assert "function " not in script.read_text()


def test_a_plugin_of_its_own_has_no_network_no_disk_and_its_own_user(deploy: Path) -> None:
    compose = yaml.safe_load((deploy / "compose.plugin.yaml").read_text())
    plugin, api, work = (compose["services"][name] for name in ("tank", "api", "work"))
    assert work == api, "plans of a job have the plugin's part as others do"
    assert (plugin["network_mode"], plugin["read_only"], plugin["cap_drop"]) == ("none", True, ["ALL"])
    assert plugin["security_opt"] == ["no-new-privileges:true"]
    user, group = plugin["user"].split(":")
    service = re.findall(r"(?m)^USER (\d+):", (deploy / "container" / "Containerfile").read_text())
    assert user not in service
    assert f"USER {user}:{group}" in (deploy / "container" / "plugin.Containerfile").read_text()
    assert api["group_add"] == [group]
    given = parser("plugins").parse_args([str(word) for word in plugin["command"]])
    remote = remote_in(api["environment"]["COLDWRIGHT_PLUGINS_REMOTE"])
    assert remote == {"coldwright-tank": given.socket}
    assert Path(given.socket).parent == Path(plugin["volumes"][0].split(":")[1])
    assert api["volumes"] == plugin["volumes"]
    assert f"gid={group}" in compose["volumes"]["plugins"]["driver_opts"]["o"]
