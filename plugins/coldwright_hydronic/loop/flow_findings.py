"""What `hydronic.loop` finds about flow and friction."""

from collections.abc import Callable, Iterable

from msgspec import UNSET

from coldwright.contract import FindingKind, Notes, finding, say
from coldwright.contract.quantities import Length, PressureDifference, TemperatureDifference, Velocity, VolumeFlow
from coldwright.contract.sentences import Words
from coldwright_basis.compare import above, at_least, below
from coldwright_hydronic.loop.case import Case
from coldwright_hydronic.loop.given import BranchesGiven, DeviceGiven, ElementGiven, LineGiven
from coldwright_hydronic.loop.network import RAMP
from coldwright_hydronic.loop.pressures import Reading
from coldwright_hydronic.shared.devices import TRUSTED_RATIO
from coldwright_hydronic.shared.friction import LAMINAR_BELOW, TURBULENT_ABOVE

SLOW = 0.6

INSIDE, OCCUPIED = 2.4, 1.2

INSIDE_FRICTION = 392.0
"""Pa/m, 4 ft per 100 ft."""

VISCOUS = 1e-5
"""m2/s."""

FLOW_FINDINGS: tuple[FindingKind, ...] = (
    finding("device_flow_low", ("stop", "check"), "Flow below the minimum of a device; in an evaporator it freezes."),
    finding("device_flow_high", "check", "Flow above the maximum of a device."),
    finding(
        "flow_minimum_not_given", "check", "The least flow of an evaporator is not known: freezing was not tested."
    ),
    finding("device_outside_rating", "check", "Flow outside 0.3 to 1.5 times the rating of a device."),
    finding("velocity_high", "check", "Velocity above the limit of a line."),
    finding("velocity_high_inside", "check", "Velocity above the custom for lines inside buildings."),
    finding("velocity_low", "note", "Velocity below 0.6 m/s: air and dirt settle."),
    finding("friction_high", "check", "Friction above the limit of a line."),
    finding("transition", "check", "A line runs between laminar and turbulent: its drop is good to 30 % only."),
    finding("flow_below_required", "check", "The flow is below the required one."),
    finding("viscous_liquid", "check", "The liquid is so viscous that the pump does less than its curve for water."),
    finding("unequal_branches", "note", "Hose of unequal length or bore side by side: the flow splits unevenly."),
)


def find_flow(case: Case, notes: Notes) -> None:
    """Devices, velocities, friction, the flow that is wanted, the liquid."""
    for reading in case.readings:
        if isinstance(reading.node.element, DeviceGiven):
            _device(reading, reading.node.element, notes)
    lines = [r for r in case.readings if r.speed is not None]
    _velocities(case, lines, notes)
    _friction(case, lines, notes)
    _transition(case, lines, notes)
    _liquid(case, notes)
    _branches(case, notes)


def _device(reading: Reading, device: DeviceGiven, notes: Notes) -> None:
    shown, name = VolumeFlow.from_si(reading.each, "L/s"), device.name
    evaporator = device.device_kind == "evaporator"
    if device.flow_minimum is not UNSET and below(reading.each, device.flow_minimum.si):
        notes.finding(
            "stop" if evaporator else "check",
            "device_flow_low",
            say(
                "{name} gets {flow}, {shortfall:.1%} below its minimum of {flow_minimum}.",
                name=name,
                flow=shown,
                shortfall=1 - reading.each / device.flow_minimum.si,
                flow_minimum=device.flow_minimum,
            ),
            why="Too little flow freezes an evaporator, and makes the flow in its tubes laminar."
            if evaporator
            else "Below its minimum flow the device does not do what it is rated for.",
            resolve="Larger hose or another run, a clean strainer, open valves, a shut bypass.",
            field=f"{reading.node.pointer}/flow_minimum",
        )
    if evaporator and device.flow_minimum is UNSET:
        notes.check(
            "flow_minimum_not_given",
            f"The least flow of {name} is not given, so freezing was not tested.",
            why="Below its least flow an evaporator can freeze in a part of its tubes.",
            resolve="Take flow_minimum from the machine's data.",
            field=f"{reading.node.pointer}/flow_minimum",
        )
    if device.flow_maximum is not UNSET and above(reading.each, device.flow_maximum.si):
        notes.check(
            "device_flow_high",
            say(
                "{name} gets {flow}, {excess:.1%} above its maximum of {flow_maximum}.",
                name=name,
                flow=shown,
                excess=reading.each / device.flow_maximum.si - 1,
                flow_maximum=device.flow_maximum,
            ),
            why="Fast water wears the tubes, and a pump that runs out overloads its motor.",
            resolve="Throttle on the discharge side of the pump, or lower its frequency.",
            field=f"{reading.node.pointer}/flow_maximum",
        )
    ratio = reading.each / device.rated_flow.si
    if not TRUSTED_RATIO[0] <= ratio <= TRUSTED_RATIO[1]:
        notes.check(
            "device_outside_rating",
            f"{name} runs at {ratio:.2f} times its rated flow; its drop is trusted from 0.3 to 1.5.",
            why="Far from the rating the exponent changes.",
            resolve="Use a rating nearer to this flow.",
            field=f"{reading.node.pointer}/rated_flow",
            references=("hydronic_practice",),
        )


def _names(readings: Iterable[Reading]) -> str:
    names = [r.node.element.name for r in readings]
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return ", ".join(names[:3]) + more


def _speed(reading: Reading) -> float:
    return reading.speed or 0.0


def _velocities(case: Case, lines: list[Reading], notes: Notes) -> None:
    most = case.given.velocity_maximum.si
    if fast := [r for r in lines if above(_speed(r), most)]:
        worst = max(fast, key=_speed)
        notes.check(
            "velocity_high",
            say(
                "{names}: up to {speed} in {name}, the limit is {velocity_maximum}.",
                names=_names(fast),
                speed=Velocity.from_si(_speed(worst), "m/s"),
                name=worst.node.element.name,
                velocity_maximum=case.given.velocity_maximum,
            ),
            why="Noise, wear of the hose, and surge when a valve closes.",
            resolve="A larger bore, another run, or less flow.",
            field=f"{worst.node.pointer}/inner_diameter",
            references=("hydronic_practice", "va_hvac_manual"),
        )
    if fast := [r for r in lines if _speed(r) > _inside_limit(r.node.element)]:
        worst = max(fast, key=lambda r: _speed(r) / _inside_limit(r.node.element))
        notes.check(
            "velocity_high_inside",
            say(
                "{names}: {speed} in {name}, where {inside_limit} is the custom.",
                names=_names(fast),
                speed=Velocity.from_si(_speed(worst), "m/s"),
                name=worst.node.element.name,
                inside_limit=Velocity.of(_inside_limit(worst.node.element), "m/s"),
            ),
            why="Noise in rooms, and power of the pump.",
            resolve="A larger bore, another run, or less flow.",
            field=f"{worst.node.pointer}/inner_diameter",
            references=("va_hvac_manual",),
        )
    if slow := [r for r in lines if _speed(r) < SLOW]:
        worst = min(slow, key=_speed)
        notes.note(
            "velocity_low",
            say(
                "{names}: down to {speed} in {name}, below {least}.",
                least=Velocity(SLOW, "m/s"),
                names=_names(slow),
                speed=Velocity.from_si(_speed(worst), "m/s"),
                name=worst.node.element.name,
            ),
            why="Air stays in high places and dirt settles in low ones.",
            resolve="A smaller bore or fewer runs, and vents at high places.",
            field=f"{worst.node.pointer}/inner_diameter",
            references=("mil_hdbk_1003_8a",),
        )


def _inside_limit(element: ElementGiven) -> float:
    if not isinstance(element, LineGiven) or element.place == "outdoors":
        return float("inf")
    return INSIDE if element.place == "inside" else OCCUPIED


def _friction(case: Case, lines: list[Reading], notes: Notes) -> None:
    given = case.given

    def over(limit: Callable[[LineGiven], float | None]) -> list[tuple[float, float, Reading]]:
        found = []
        for reading in lines:
            element = reading.node.element
            if isinstance(element, LineGiven) and element.length.si > 0.0:
                most, per_metre = limit(element), reading.drop / element.length.si
                if most is not None and above(per_metre, most):
                    found.append((per_metre / most, per_metre, reading))
        return found

    def allowed(element: LineGiven) -> float | None:
        own = None if given.friction_maximum is UNSET else given.friction_maximum * 10.0
        inside = None if element.place == "outdoors" else INSIDE_FRICTION
        return min((limit for limit in (own, inside) if limit is not None), default=None)

    if found := over(allowed):
        ratio, per_metre, worst = max(found, key=lambda f: f[0])
        notes.check(
            "friction_high",
            say(
                "{names}: {per_length:.4g} for each {length} in {name}, {excess:.0%} over the limit of {limit:.4g}.",
                length=Length(100.0, "m"),
                names=_names(r for *_, r in found),
                per_length=PressureDifference.of(per_metre / 10, "kPa"),
                name=worst.node.element.name,
                excess=ratio - 1,
                limit=PressureDifference.of(per_metre / ratio / 10, "kPa"),
            ),
            why="Friction is paid for in pump power.",
            resolve="A larger bore or another run.",
            field=f"{worst.node.pointer}/inner_diameter",
            references=("va_hvac_manual",),
        )


def _transition(case: Case, lines: list[Reading], notes: Notes) -> None:
    doubtful = [r for r in lines if LAMINAR_BELOW * (1.0 - RAMP) <= (r.reynolds(case.state) or 0.0) < TURBULENT_ABOVE]
    if doubtful:
        worst = max(doubtful, key=lambda r: r.drop)
        notes.check(
            "transition",
            say(
                "{names}: Reynolds number {reynolds:.0f}, between laminar and turbulent; the drop of "
                "{drop} is good to 30 % only.",
                names=_names(doubtful),
                reynolds=worst.reynolds(case.state),
                drop=PressureDifference.from_si(worst.drop, "kPa"),
            ),
            why="Between Re 2040 and 4000 the flow can be either.",
            resolve="See whether the loop still does its work with 30 % more drop in these lines.",
            field=worst.node.pointer,
            references=("white_fluid_mechanics", "hydronic_practice"),
        )


def _liquid(case: Case, notes: Notes) -> None:
    viscosity = getattr(case.state, "dynamic_viscosity", None)
    if viscosity is not None and viscosity / case.state.density > VISCOUS:
        notes.show("nu", "Kinematic viscosity", "mu / rho", viscosity / case.state.density * 1e6, "cSt")
        notes.check(
            "viscous_liquid",
            f"The kinematic viscosity is {viscosity / case.state.density * 1e6:.3g} cSt, above {VISCOUS * 1e6:.3g} cSt.",
            why="A curve measured with water promises too much: less head, less flow, more power.",
            resolve="Correct the curve for viscosity, or warm or thin the liquid.",
            field="/fluid",
            references=("hi_9_6_7",),
        )


def find_required(case: Case, wanted: float, notes: Notes) -> None:
    """Is the flow enough?"""
    if at_least(case.flow, wanted):
        return
    required = case.given.required
    warmer: Words = ""
    if required is not UNSET and required.load is not UNSET and required.temperature_difference is not UNSET:
        difference = required.load.si / (case.state.volumetric_heat * case.flow)
        more = difference - required.temperature_difference.si
        warmer = say(
            " At the full load the difference grows from {wanted} to {difference}: for the same return the machine must "
            "leave {more:.2f} colder.",
            wanted=required.temperature_difference,
            difference=TemperatureDifference.from_si(difference, "delta_degC"),
            more=TemperatureDifference.from_si(more, "delta_degC"),
        )
    notes.check(
        "flow_below_required",
        say(
            "The flow is {flow}, {shortfall:.1%} below the required {wanted}.{warmer}",
            flow=VolumeFlow.from_si(case.flow, "L/s"),
            shortfall=1 - case.flow / wanted,
            wanted=VolumeFlow.from_si(wanted, "L/s"),
            warmer=warmer,
        ),
        why="Less flow carries the load only with a colder liquid.",
        resolve="Larger hose or another run, more pump, a higher frequency, or a larger temperature difference.",
        field="/required",
    )


def _branches(case: Case, notes: Notes) -> None:
    for reading in case.readings:
        element = reading.node.element
        if isinstance(element, BranchesGiven):
            lines = [
                sorted((e.inner_diameter.si, e.length.si) for e in path if isinstance(e, LineGiven))
                for path in element.branches
            ]
            if any(line != lines[0] for line in lines):
                shares = ", ".join(f"{path[0].flow / reading.flow:.0%}" for path in reading.branches)
                notes.note(
                    "unequal_branches",
                    say(
                        "The paths of {name} differ; they take {shares} of its flow.", name=element.name, shares=shares
                    ),
                    why="The shorter or wider path takes more.",
                    resolve="Equal hose, or a balancing valve in the favoured path.",
                    field=f"{reading.node.pointer}/branches",
                )
