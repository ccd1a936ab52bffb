"""What hire, transport, crew, fuel and power cost, and what comes of it for a hire."""
