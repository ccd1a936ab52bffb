"""Many questions in one request, for the document: a supply with its cable, a drop by length, the longest cable."""

from coldwright.contract import Example

_SERVICE = {
    "practice": "nec",
    "system_voltage": {"value": 480, "unit": "V"},
    "frequency": {"value": 60, "unit": "Hz"},
    "machines": [
        {
            "machine_id": "north",
            "minimum_circuit_ampacity": {"value": 158, "unit": "A"},
            "maximum_overcurrent_device": {"value": 200, "unit": "A"},
        }
    ],
}
_FEEDER = {
    "practice": "nec",
    "system_voltage": {"value": 480, "unit": "V"},
    "frequency": {"value": 60, "unit": "Hz"},
    "load_current": {"value": 144, "unit": "A"},
    "minimum_ampacity": {"value": 158, "unit": "A"},
    "overcurrent_device": {"value": 200, "unit": "A"},
    "length": {"value": 60, "unit": "m"},
    "conductor_size": "3/0 AWG",
    "sets": 1,
}
WORKSHEET_EXAMPLE = Example(
    "service-then-cable",
    "Invented: the cable takes its ampacity from the service.",
    {
        "items": [
            {"id": "supply", "calculator": "electrical.service", "given": _SERVICE},
            {
                "id": "cable",
                "calculator": "electrical.feeder",
                "given": _FEEDER
                | {"minimum_ampacity": {"from": "supply", "pointer": "/results/feeder/minimum_circuit_ampacity"}},
            },
        ]
    },
)
SWEEP_EXAMPLE = Example(
    "drop-by-length",
    "Invented: the voltage drop of one cable over its length.",
    {
        "calculator": "electrical.feeder",
        "given": _FEEDER,
        "vary": [{"pointer": "/length", "range": {"from": 30, "to": 300, "count": 10}}],
        "keep": ["/results/drop_running_fraction", "/outcome"],
    },
)
LIMIT_EXAMPLE = Example(
    "longest-cable",
    "Invented: how long may the cable be before somebody must look?",
    {
        "calculator": "electrical.feeder",
        "given": _FEEDER,
        "vary": {"pointer": "/length", "from": 10, "to": 600},
        "until": {"outcome": "conditional"},
        "tolerance": 0.5,
    },
)
