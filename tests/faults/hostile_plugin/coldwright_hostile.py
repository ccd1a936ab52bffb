"""A plugin that does every harm that a calculator can do, each when asked to. For the tests of isolation alone."""

import ctypes
import math
import os
import subprocess
import sys
import time
from collections.abc import Callable
from typing import Annotated, Any, Literal

from coldwright.contract import Example, Given, Notes, Plugin, Reference, Results, about, calculator
from coldwright.contract.quantities import Length

Harm = Literal[
    "none",
    "delay",
    "endless_loop",
    "endless_loop_in_c",
    "sleep",
    "allocation",
    "allocation_in_c",
    "exit",
    "system_exit",
    "keyboard_interrupt",
    "segmentation_fault",
    "recursion",
    "long_answer",
    "wrong_type",
    "other_struct",
    "out_of_bounds",
    "not_a_number",
    "nothing",
    "printing",
    "closed_files",
    "strange_error",
    "killed_parent",
    "endless_printing",
    "children",
    "children_and_endless_loop",
]


NO_SOURCE = Reference(id="none", title="No source", provenance="common_practice")


class HarmGiven(Given, frozen=True, kw_only=True):
    """What harm is to be done."""

    harm: Annotated[Harm, about("The harm.")]


class HarmResults(Results, frozen=True, kw_only=True):
    """What is left to say."""

    text: Annotated[str, about("A text.", max_length=200_000_000)] = ""
    count: Annotated[int, about("A count.", low=0, high=10)] = 0
    length: Annotated[Length, about("A length.")] = Length(1.0, "m")


def _delay() -> HarmResults:
    time.sleep(1.5)
    return HarmResults(text="late")


def _loop() -> HarmResults:
    while True:
        pass


def _loop_in_c() -> HarmResults:
    sum(iter(int, 1))  # endless, and never back in the interpreter between two of its instructions
    return HarmResults()


def _allocate_in_c() -> HarmResults:
    libc = ctypes.CDLL(None)
    libc.malloc.restype = ctypes.c_void_p
    blocks = [libc.malloc(ctypes.c_size_t(1 << 30)) for _ in range(10)]
    for block in reversed(blocks):
        ctypes.memset(block, 1, 1 << 20)
    return HarmResults()


def _recurse() -> HarmResults:
    return _recurse()


def _interrupt() -> HarmResults:
    raise KeyboardInterrupt


def _print() -> HarmResults:
    print("this is not an answer", flush=True)
    sys.__stdout__.write("nor is this\n")  # type: ignore[union-attr]
    os.write(1, b"nor this\n")
    subprocess.run(["echo", "nor what a child says"], check=True)
    return HarmResults(text="printed")


def _close_files() -> HarmResults:
    os.closerange(0, 64)
    return HarmResults()


class StrangeError(BaseException):
    """Not even an Exception, and it fails at being told."""

    def __str__(self) -> str:
        raise RuntimeError("no words")


def _strange() -> HarmResults:
    raise StrangeError


def _kill_parent() -> HarmResults:
    os.kill(os.getppid(), 15)
    return HarmResults()


def _print_without_end() -> HarmResults:
    while True:
        os.write(1, b"all work and no play\n" * 3000)


def _have_children() -> HarmResults:
    subprocess.Popen(["sleep", "3600"])
    subprocess.Popen(["sh", "-c", "sleep 3600 & sleep 3600"], process_group=0)
    return HarmResults(text="left behind")


def _have_children_and_loop() -> HarmResults:
    _have_children()
    return _loop_in_c()


_DONE: dict[str, Callable[[], Any]] = {
    "none": HarmResults,
    "delay": _delay,
    "endless_loop": _loop,
    "endless_loop_in_c": _loop_in_c,
    "sleep": lambda: time.sleep(3600),
    "allocation": lambda: HarmResults(text=str(len(bytearray(10 << 30)))),
    "allocation_in_c": _allocate_in_c,
    "exit": lambda: os._exit(0),
    "system_exit": lambda: sys.exit(3),
    "keyboard_interrupt": _interrupt,
    "segmentation_fault": lambda: ctypes.string_at(0),
    "recursion": _recurse,
    "long_answer": lambda: HarmResults(text="x" * 100_000_000),
    "wrong_type": lambda: HarmResults(count="three"),  # type: ignore[arg-type]
    "other_struct": lambda: HarmGiven(harm="none"),
    "out_of_bounds": lambda: HarmResults(count=11),
    "not_a_number": lambda: HarmResults(length=Length(math.nan, "m")),
    "nothing": lambda: None,
    "printing": _print,
    "closed_files": _close_files,
    "strange_error": _strange,
    "killed_parent": _kill_parent,
    "endless_printing": _print_without_end,
    "children": _have_children,
    "children_and_endless_loop": _have_children_and_loop,
}


@calculator(
    "hostile.harm",
    version="1.0.0",
    title="Do harm",
    references=(NO_SOURCE,),
    examples=(Example("harmless", "Invented.", {"harm": "none"}),),
)
def harm(given: HarmGiven, notes: Notes) -> HarmResults:
    """Do the harm that is asked for."""
    return _DONE[given.harm]()


class GentleGiven(Given, frozen=True, kw_only=True):
    """A length."""

    length: Annotated[Length, about("A length.", low=0, high=10, unit="m")]


class GentleResults(Results, frozen=True, kw_only=True):
    """Twice the length."""

    twice: Annotated[Length, about("Twice the length.")]


@calculator(
    "hostile.gentle",
    version="1.0.0",
    title="Double a length",
    references=(NO_SOURCE,),
    examples=(Example("one", "Invented.", {"length": {"value": 1, "unit": "m"}}),),
)
def gentle(given: GentleGiven, notes: Notes) -> GentleResults:
    """Double it, in peace, beside the other."""
    twice = Length.of(given.length.si * 2, "m")
    notes.show("2L", "twice the length", f"2 * {given.length.si}", twice.value, "m")
    return GentleResults(twice=twice)


plugin = Plugin(name="hostile", title="Harm, for tests", contract=">=1.0,<2", calculators=(harm, gentle))
