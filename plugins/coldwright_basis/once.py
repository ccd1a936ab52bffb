"""A property that is worked out at its first use and kept."""

from collections.abc import Callable
from typing import Any, Generic, TypeVar

T = TypeVar("T")


class once(Generic[T]):  # noqa: N801 - reads as the decorator that it stands for
    """`functools.cached_property` without its lock, which costs more than most of what is kept here; 3.12 has none either.

    An object that two threads share is not for it: the value could be worked out twice.
    """

    def __init__(self, work_out: Callable[[Any], T]) -> None:
        self._work_out = work_out
        self.__doc__ = work_out.__doc__

    def __set_name__(self, owner: type, name: str) -> None:
        self._name = name

    def __get__(self, instance: Any, owner: type) -> T:
        value = instance.__dict__[self._name] = self._work_out(instance)  # found there by Python itself from now on
        return value
