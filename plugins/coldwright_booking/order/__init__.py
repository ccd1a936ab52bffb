"""The order: what is asked, its rules, and the facts with every gap filled."""
