"""What cannot be as recorded, contradicts itself, or asks for somebody: I1 to I19, repeated trips, and how it is settled."""
