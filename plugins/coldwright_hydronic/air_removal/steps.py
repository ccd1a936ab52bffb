"""The order of purging a loop."""

STEPS = (
    "Fill from the low point with the high vents open; close each vent when it runs solid, from the lowest to the highest.",
    "With the pump off, vent every high point and the pump casing; air leaves there and then only.",
    "Top up to the fill pressure.",
    "Run the pump for 5 to 10 minutes at part flow.",
    "Stop it, give bubbles about 10 minutes to rise, vent again and top up.",
    "Do this again until nothing needs topping up, the suction gauge and the motor current stand still, and no hiss is heard.",
    "If the same top-up is needed day after day, look for a leak: it is not air any more.",
)
