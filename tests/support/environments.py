"""An environment of its own that sees what is installed here: no network is needed to fill it."""

import sysconfig
import venv
from pathlib import Path


def make_environment(folder: Path) -> Path:
    """Make it in `folder`; its `bin`. What is installed into it stays in it."""
    venv.EnvBuilder(with_pip=False, symlinks=True).create(folder)
    own = Path(sysconfig.get_path("purelib", vars={"base": str(folder), "platbase": str(folder)}))
    # `addsitedir`, not a bare path: an editable installation of coldwright is itself a .pth file there
    here = sysconfig.get_path("purelib")
    (own / "beside.pth").write_text(f"import site; site.addsitedir({here!r})\n", "utf-8")
    return folder / "bin"
