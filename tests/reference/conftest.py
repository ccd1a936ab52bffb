"""Every answer that the published checks ask for is followed by hand as well, to its last word."""

from followed import followed_to_the_word as followed_to_the_word
