"""How machines get to their place: part of an order."""
