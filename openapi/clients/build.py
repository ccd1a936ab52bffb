"""Builds the published clients from the document: `python openapi/clients/build.py python|typescript FOLDER`.

What others' generators make is not kept in the repository; what is written by hand lies beside this file. Nothing is
uploaded. Python needs `openapi-python-client`, TypeScript needs `npm`.
"""

import json
import shutil
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent
DOCUMENT = HERE.parent / "v1.json"
PACKAGE = "coldwright_client"


def version() -> str:
    """That of the API."""
    return str(json.loads(DOCUMENT.read_text("utf-8"))["info"]["version"])


def python(folder: Path) -> None:
    """A folder from which `python -m build` makes the package."""
    folder.mkdir(parents=True, exist_ok=True)
    generator = Path(sys.executable).parent / "openapi-python-client"
    made = ("--output-path", str(folder / PACKAGE), "--meta", "none", "--overwrite", "--fail-on-warning")
    subprocess.run([str(generator), "generate", "--path", str(DOCUMENT), *made], check=True)
    for part in (HERE / "python" / PACKAGE).glob("*.py"):
        shutil.copy(part, folder / PACKAGE / part.name)
    (folder / PACKAGE / "py.typed").touch()
    project = (HERE / "python" / "pyproject.toml").read_text("utf-8")
    (folder / "pyproject.toml").write_text(project.replace("0.0.0", version()), "utf-8")
    shutil.copy(HERE / "python" / "README.md", folder)


def typescript(folder: Path) -> None:
    """A folder from which `npm pack` makes the package."""
    shutil.copytree(HERE / "typescript", folder, dirs_exist_ok=True)
    package = (HERE / "typescript" / "package.json").read_text("utf-8")
    (folder / "package.json").write_text(package.replace("0.0.0", version()), "utf-8")
    npm = str(shutil.which("npm"))
    subprocess.run([npm, "install", "--no-audit", "--no-fund", "--ignore-scripts"], cwd=folder, check=True)
    generator = folder / "node_modules" / ".bin" / "openapi-typescript"
    subprocess.run([str(generator), str(DOCUMENT), "-o", "src/schema.ts"], cwd=folder, check=True)
    subprocess.run([str(folder / "node_modules" / ".bin" / "tsc"), "-p", "."], cwd=folder, check=True)


if __name__ == "__main__":
    {"python": python, "typescript": typescript}[sys.argv[1]](Path(sys.argv[2]).resolve())
