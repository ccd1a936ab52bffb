"""The working of every answer that the properties ask for is followed by hand as well."""

from followed import followed as followed
from followed import to_the_word as to_the_word
