"""One module a command; each adds itself to the parser."""
