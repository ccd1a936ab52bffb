"""Fault: to import it changes the environment, prints and writes a file."""

import os
import sys
import tempfile
from pathlib import Path

from sound import plugin_of

os.environ["TRIAL_WAS_HERE"] = "1"
sys.stdout.write("hello\n")
(Path(tempfile.gettempdir()) / "trial-was-here").write_text("1", "utf-8")

plugin = plugin_of()
