"""The lock file as a CycloneDX bill of materials: every package with version, hashes and the platforms it is for."""

import re
import sys
import tomllib
from pathlib import Path

from cyclonedx.model import HashAlgorithm, HashType, Property
from cyclonedx.model.bom import Bom
from cyclonedx.model.component import Component, ComponentType
from cyclonedx.output.json import JsonV1Dot6
from packageurl import PackageURL

ROOT = Path(__file__).resolve().parent.parent
_PIN = re.compile(r"^(?P<name>[A-Za-z0-9_.-]+)(\[[^]]*\])?==(?P<version>[^ ;\\]+)( ; (?P<marker>[^\\]+?))? *\\?$")
_HASH = re.compile(r"--hash=sha256:([0-9a-f]{64})")


def components(lock: str) -> list[Component]:
    """One component a pinned package; raises on a line that is neither a pin, a hash nor a comment."""
    found: list[Component] = []
    for line in lock.splitlines():
        if pin := _PIN.match(line):
            name, version, marker = pin["name"], pin["version"], pin["marker"]
            component = Component(
                name=name,
                version=version,
                type=ComponentType.LIBRARY,
                purl=PackageURL("pypi", name=name, version=version),
                bom_ref=f"pkg:pypi/{name}@{version}" + (f"#{len(found)}" if marker else ""),
            )
            if marker:
                component.properties.add(Property(name="coldwright:marker", value=marker))
            found.append(component)
        elif hash_ := _HASH.search(line):
            found[-1].hashes.add(HashType(alg=HashAlgorithm.SHA_256, content=hash_[1]))
        elif line.strip() and not line.lstrip().startswith("#"):
            raise ValueError(f"this line of the lock file can't be read: {line}")
    return found


def bill() -> str:
    """The document. The same lock file gives the same components; its serial number and time are its own."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    own = Component(name=project["name"], version=project["version"], type=ComponentType.APPLICATION, bom_ref="project")
    bom = Bom(components=components((ROOT / "deploy" / "requirements.lock").read_text("utf-8")))
    bom.metadata.component = own
    bom.register_dependency(own, list(bom.components))
    return JsonV1Dot6(bom).output_as_string(indent=1) + "\n"


if __name__ == "__main__":
    if len(sys.argv) > 1:
        Path(sys.argv[1]).write_text(bill(), "utf-8")
    else:
        sys.stdout.write(bill())
