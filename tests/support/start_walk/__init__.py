"""A crew that follows the next action of a start-up to the letter, on a little plant that answers with the truth."""

from .troubles import TROUBLES, Trouble
from .walk import LostError, Walk, walk

__all__ = ["TROUBLES", "LostError", "Trouble", "Walk", "walk"]
