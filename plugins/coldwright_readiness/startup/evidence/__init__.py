"""From observations to what is surely known: records as intervals of time, and states that hold whatever the order was."""
