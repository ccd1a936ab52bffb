"""Every answer that the published checks ask for is followed by hand as well."""

from followed import answer_of as answer_of
