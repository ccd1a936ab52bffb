"""What several families of calculators share, and what third-party plugins may use: no calculators, no findings.

| module | what it holds |
|---|---|
| `atmosphere` | pressure of the air by height |
| `constants` | physical constants that are defined, not measured |
| `compare` | comparison that forgives the last bits which a change of units moves |
| `coolprop` | CoolProp's compiled core, loaded in milliseconds |
| `freezing` | freezing points of plain glycols, without CoolProp |
| `instants` | time stamps as whole nanoseconds |
| `liquids` | properties of water, plain glycols and the caller's own liquid |
| `motor_starting` | apparent power of a motor while it starts |
| `pump_curves` | pump curves through given points, at another frequency, side by side and in series |
| `price` | money as decimal text, and the places that a currency has |
| `ratings` | standard ratings of overcurrent devices |
| `repeats` | refusals of ids and names that are used twice |
| `trade_words` | words that differ between the trades, by practice |
| `usual` | the value given, or the usual one, written down among the assumptions |
| `voltages` | nominal voltages of systems and of motors |

Everything is in SI unless its name or its docstring says otherwise. It imports the contract, never a family.
"""
