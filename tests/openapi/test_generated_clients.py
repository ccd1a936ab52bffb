"""What others' generators make of the published document: without a warning, and it books, starts and sweeps.

The generators of Python run here always; those of TypeScript and of Java come from registries, and so in the nightly run.
For C# no toolchain can be had from them: what its generators stumble on is looked for in the document itself.
"""

import json
import os
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from running import running

ROOT = Path(__file__).parents[2]
DOCUMENT = ROOT / "openapi" / "v1.json"
PROGRAMS = Path(__file__).parent / "programs"
BIN = Path(sys.executable).parent


@pytest.fixture(scope="module")
def given(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """Files to send: the demo's folder, and the document's own examples of a start and a sweep."""
    folder = tmp_path_factory.mktemp("given")
    paths = json.loads(DOCUMENT.read_text("utf-8"))["paths"]
    wanted = {"startup.json": paths["/v1/startups/{id}"]["put"], "sweep.json": paths["/v1/sweeps"]["post"]}
    for name, operation in wanted.items():
        examples = operation["requestBody"]["content"]["application/json"]["examples"]
        (folder / name).write_text(json.dumps(next(iter(examples.values()))["value"]))
    return [str(ROOT / "deploy" / "demo"), str(folder / "startup.json"), str(folder / "sweep.json")]


@pytest.fixture
def url(tmp_path: Path) -> Iterator[str]:
    """A service of its own."""
    folder = tmp_path / "service"
    folder.mkdir()
    with running(folder, {"evaluation_seconds": "60"}) as service:
        yield service.url


def run(*command: str | Path, folder: Path, **environment: str) -> str:
    """Run it to a good end; what it printed."""
    path = f"{BIN}{os.pathsep}{os.environ['PATH']}"
    done = subprocess.run(
        [str(part) for part in command],
        cwd=folder,
        env=os.environ | {"PATH": path, "NO_COLOR": "1"} | environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=600,
    )
    printed = done.stdout + done.stderr
    assert done.returncode == 0, printed[-6000:]
    return printed


def python(program: str, folder: Path, *arguments: str) -> None:
    run(sys.executable, "-W", "error", PROGRAMS / program, *arguments, folder=folder, PYTHONPATH=str(folder))


def test_openapi_python_client(tmp_path: Path, url: str, given: list[str]) -> None:
    made = run(
        BIN / "openapi-python-client",
        *("generate", "--path", DOCUMENT, "--meta", "none", "--output-path", "coldwright_client", "--fail-on-warning"),
        folder=tmp_path,
    )
    assert "warning" not in made.lower(), made
    python("with_attrs_client.py", tmp_path, url, *given)


def test_datamodel_code_generator(tmp_path: Path, url: str, given: list[str]) -> None:
    made = run(
        *(BIN / "datamodel-codegen", "--input", DOCUMENT, "--input-file-type", "openapi"),
        *("--output", "coldwright_models.py", "--output-model-type", "pydantic_v2.BaseModel"),
        *("--target-python-version", "3.11", "--formatters", "builtin", "--use-annotated"),
        folder=tmp_path,
        PYTHONWARNINGS="error",
    )
    assert not made, made
    python("with_models.py", tmp_path, url, *given)


@pytest.fixture(scope="module")
def node(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the programs and the tools of TypeScript, from the registry of npm."""
    if shutil.which("npm") is None:
        pytest.skip("no npm here")
    folder = tmp_path_factory.mktemp("node") / "programs"
    shutil.copytree(PROGRAMS, folder)
    run("npm", "install", "--no-audit", "--no-fund", "--ignore-scripts", folder=folder)
    return folder


def tool(name: str, folder: Path) -> Path:
    return folder / "node_modules" / ".bin" / name


@pytest.mark.nightly
def test_typescript_generators(node: Path, url: str, given: list[str], tmp_path: Path) -> None:
    made = run(tool("openapi-typescript", node), DOCUMENT, "-o", "types.d.ts", folder=node)
    made += run(tool("openapi-ts", node), "-i", DOCUMENT, "-o", "sdk", "-c", "@hey-api/client-fetch", folder=node)
    assert "warn" not in made.lower(), made
    run(tool("tsc", node), "-p", ".", folder=node)
    run("node", "--max-old-space-size=512", "built/with_types.js", url, *given, folder=node)
    other = tmp_path / "other"
    other.mkdir()
    with running(other, {"evaluation_seconds": "60"}) as service:
        run("node", "built/with_sdk.js", service.url, *given, folder=node)


GENERATOR = "openapi-generator-cli==7.26.0"
"""Of Java, which its package for Python carries with all that the client it makes needs to compile."""
JAVA = {
    "openApiNullable": "false",
    "containerDefaultToNull": "true",  # else lists that are not given are sent as empty ones
    "apiPackage": "coldwright.api",
    "modelPackage": "coldwright.model",
    "invokerPackage": "coldwright.client",
}
OF_THE_GENERATOR = (
    "OpenAPI 3.1 support is still in beta",
    "Failed to get the schema name: null",  # of any document of 3.1 with one object that takes no further members
    "Ignoring complex example on request body",
)
"""What it warns of whatever the document says."""
OF_ITS_TEMPLATES = ("-serial", "-deprecation")
"""What the compiler finds in each client that it makes, of its own code for unions and for reading JSON."""
MARK = """package javax.annotation;
public @interface Generated { String[] value(); String date() default ""; String comments() default ""; }
"""
"""What every file is marked with; Java itself has it no more since its version 9."""


@pytest.mark.nightly
def test_java(tmp_path: Path, url: str, given: list[str]) -> None:
    if shutil.which("javac") is None:
        pytest.skip("no compiler of Java here")
    run(sys.executable, "-m", "pip", "download", "--no-deps", "-q", "-d", ".", GENERATOR, folder=tmp_path)
    with zipfile.ZipFile(next(tmp_path.glob("*.whl"))) as package:
        name = next(n for n in package.namelist() if n.endswith(".jar"))
        jar = Path(package.extract(name, tmp_path))
    options = ",".join(f"{key}={value}" for key, value in JAVA.items())
    made = run(
        *("java", "-Xmx1g", "-jar", jar, "generate", "-i", DOCUMENT, "-g", "java", "--library", "native", "-o", "made"),
        f"--additional-properties={options}",
        folder=tmp_path,
    )
    assert " ERROR " not in made, made[-3000:]
    assert not [line for line in made.splitlines() if " WARN " in line and not any(k in line for k in OF_THE_GENERATOR)]
    mark = tmp_path / "made/src/main/java/javax/annotation/Generated.java"
    mark.parent.mkdir(parents=True)
    mark.write_text(MARK)
    sources = tmp_path / "sources.txt"
    sources.write_text("\n".join(map(str, (tmp_path / "made/src/main").rglob("*.java"))))
    made_strict = ("-proc:none", "-Werror", f"-Xlint:all,{','.join(OF_ITS_TEMPLATES)}")
    run("javac", "-J-Xmx1500m", *made_strict, "-d", "classes", "-cp", jar, f"@{sources}", folder=tmp_path)
    path = f"{jar}{os.pathsep}{tmp_path / 'classes'}"
    strict = ("-Werror", "-Xlint:all")
    run("javac", *strict, "-d", "program", "-cp", path, PROGRAMS / "WithNative.java", folder=tmp_path)
    run("java", "-cp", f"{path}{os.pathsep}program", "WithNative", url, *given, folder=tmp_path)


def schemas_in(node: Any) -> Iterator[dict[str, Any]]:
    """Every schema of a document, and every other object."""
    if isinstance(node, dict):
        yield node
        for value in node.values():
            yield from schemas_in(value)
    elif isinstance(node, list):
        for item in node:
            yield from schemas_in(item)


def test_nothing_that_generators_of_java_and_c_sharp_stumble_on() -> None:
    """Each made a client that did not compile, by somebody's trial: names that differ by case alone, words without a type,
    unions with a list or with null, defaults that hold lists.
    """
    document: dict[str, Any] = json.loads(DOCUMENT.read_text("utf-8"))
    components: dict[str, Any] = document["components"]["schemas"]
    assert len({name.casefold() for name in components}) == len(components)
    operations = [o["operationId"] for path in document["paths"].values() for o in path.values() if "operationId" in o]
    assert len({name.casefold() for name in operations}) == len(operations)
    for schema in schemas_in(components):
        if isinstance(words := schema.get("enum"), list):
            assert schema.get("type") in ("string", "integer"), schema
            assert len({str(word).casefold() for word in words}) == len(words), words
        for union in (schema.get("anyOf"), schema.get("oneOf")):
            kinds = [member.get("type") for member in union] if isinstance(union, list) else []
            assert "array" not in kinds, schema
            assert "null" not in kinds, schema
        if isinstance(properties := schema.get("properties"), dict) and schema.get("type") == "object":
            assert len({name.casefold() for name in properties}) == len(properties), sorted(properties)
            defaults = [p["default"] for p in properties.values() if isinstance(p, dict) and "default" in p]
            assert not [d for d in defaults if isinstance(d, dict) and any(isinstance(v, list) for v in d.values())]


@pytest.mark.nightly
def test_a_linter_with_its_recommended_rules_finds_nothing(node: Path) -> None:
    found = run(tool("redocly", node), "lint", DOCUMENT, "--extends", "recommended", "--format", "json", folder=node)
    totals: dict[str, Any] = json.loads(found[found.index('{\n  "totals"') :].rpartition("}")[0] + "}")["totals"]
    assert (totals["errors"], totals["warnings"]) == (0, 0), found[-4000:]
