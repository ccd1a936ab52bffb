"""The working of every answer that the properties ask for is followed by hand as well."""

from followed import followed as followed
