"""The facts of a start, each rule in the module of its trade, named by its number: R15 is in `flow.py`.

| module | rules |
|---|---|
| `power` | R01 locks, R02 plate, R05 energised, R06 voltage, R07 rotation, R20 oil warm, R29 heaters |
| `connecting` | R21 proved dead, R22 order, R23 connectors, R24 ground path, R25 insulation, R26 route, R27 transfer, R28 hands |
| `loop` | R08 hoses, R09 valves, R10 pressure, R11 air, R12 leaks, R13 mixture, R16 strainer, R17 set point |
| `flow` | R14 pump, R15 flow |
| `machine` | R03 level, R04 ground, R18 alarms, R19 people, R30 items, R31 water |
"""
