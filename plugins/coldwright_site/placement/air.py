"""Air that the machines draw: its speed down into a well, and how warm it comes when hot air turns back."""

from typing import Any

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, Notes, lazy, refuse, say, tidy
from coldwright.contract.quantities import Area, Temperature, Velocity
from coldwright_basis.compare import above
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_site.placement.given import FACES, PlacedMachine, PlacementGiven
from coldwright_site.placement.plan import Plan, Standing

shapely = lazy("shapely")


def inlet_velocity(given: PlacementGiven, plan: Plan, notes: Notes) -> Velocity | UnsetType:
    """Speed of the air down into a pit, or into the well that walls on two sides or more make of the place."""
    machines = _cooled_by_air(given)
    flows = [m.air_flow.si for m in machines if m.air_flow is not UNSET]
    area = _well(given, plan)
    if area is None or not flows:
        return UNSET
    if len(flows) < len(machines):
        notes.note(
            "air_flow_not_given",
            "Not every machine's air flow was given: the speed of the air into the well is left out.",
            field="/machines",
        )
        return UNSET
    net = area - given.discharge_area.si
    if net <= 1e-6:
        raise refuse(
            "/discharge_area",
            f"The discharges are as large as the well of {area:.4g} m2 that the air comes down through.",
            value=given.discharge_area,
            allowed=Allowed(below=area, unit="m2"),
            why="No area is left for the air to come in.",
        )
    velocity = tidy(sum(flows) / net)
    notes.show(
        "v",
        "Speed of the air into the well",
        f"{sum(flows):.5g} m3/s / ({area:.5g} - {given.discharge_area.si:.5g}) m2",
        velocity,
        "m/s",
    )
    if velocity > 2:
        free = Area.of(sum(flows) / 2, "m2")
        notes.show("A_2", "Free area at 2 m/s", f"{sum(flows):.5g} m3/s / 2 m/s", free)
        notes.finding(
            "stop" if velocity > 3 else "check",
            "inlet_velocity",
            say("The air comes down with {velocity:.2f}.", velocity=Velocity.of(velocity, "m/s")),
            why=say(
                "Above {fast} it draws hot air down with it; above {too_fast} the machines starve.",
                fast=Velocity(2.0, "m/s"),
                too_fast=Velocity(3.0, "m/s"),
            ),
            resolve=say(
                "A free area of {free:.1f} beside the discharges, fewer machines, or ducts on them.",
                free=free,
            ),
            field="/pit" if given.pit is not UNSET else "/positions",
            references=("site_practice",),
        )
    return Velocity.from_si(velocity, "m/s")


def _cooled_by_air(given: PlacementGiven) -> list[PlacedMachine]:
    """Machines with condensers; an engine draws its air apart from theirs."""
    return [m for m in given.machines if not m.engine]


def _well(given: PlacementGiven, plan: Plan) -> float | None:
    """Area in plan that the air comes down through, discharges included; None in the open."""
    if given.pit is not UNSET:
        return float(given.pit.area.si)
    if next(plan.of_kind("wall", "combustible_wall"), None) is None:
        return None
    shapes: list[Any] = []
    walled = False
    for standing in plan.machines:
        walls = [part for face in FACES if (part := _wall_before(standing, face, plan)) is not None]
        walled = walled or len(walls) >= 2
        shapes += [standing.footprint, *walls]
    return float(shapely.union_all(shapes).convex_hull.area) if walled else None


def _wall_before(standing: Standing, face: Any, plan: Plan) -> Any | None:
    """The part of walls before a side that is taller than the discharge; a wall of unknown height counts as tall."""
    strip = standing.ahead[face]
    parts = [
        part
        for wall in plan.of_kind("wall", "combustible_wall")
        if wall.given.height is UNSET or above(wall.given.height.si, standing.machine.height.si)
        if not (part := wall.shape.intersection(strip)).is_empty
    ]
    return min(parts, key=standing.sides[face].distance) if parts else None


def recirculated(given: PlacementGiven, notes: Notes) -> Temperature | UnsetType:
    """Temperature of the air that the group draws when a share of its hot air turns back."""
    machines = _cooled_by_air(given)
    if given.ambient is UNSET or not machines:
        return UNSET
    heat, flow = 0.0, 0.0
    for machine in machines:
        if machine.heat_rejected is UNSET or machine.air_flow is UNSET:
            return UNSET
        heat += machine.heat_rejected.si
        flow += machine.air_flow.si
    if flow < 1e-6:
        return UNSET
    capacity = given.air_density.si * flow * given.air_specific_heat
    rise, share = heat / capacity, given.recirculation_fraction
    notes.show(
        "dT",
        "Rise of the air through the coils",
        f"Q / (rho V cp) = {heat / 1000:.5g} kW / ({given.air_density.si:.4g} kg/m3 x {flow:.5g} m3/s x "
        f"{given.air_specific_heat:g} J/kg.K)",
        rise,
        "K",
    )
    ambient = given.ambient.to("degC")
    inlet = ambient + share * rise / (1 - share)
    notes.show("T_in", "Air drawn", f"{ambient:.4g} + {share:g} x {rise:.4g} / (1 - {share:g})", inlet, "degC")
    for index, machine in enumerate(given.machines):
        limit = machine.ambient_limit
        if limit is not UNSET and above(inlet + ZERO_CELSIUS, limit.si):
            notes.stop(
                "too_warm",
                say(
                    "{id} would draw air of {inlet:.1f}; its limit is {limit:.1f}.",
                    id=machine.id,
                    inlet=Temperature.of(inlet, "degC"),
                    limit=limit.as_unit("degC"),
                ),
                why="It trips on high pressure, or runs back just when the load is highest.",
                resolve="More space, ducts on the discharges, or more machines at less load.",
                field=f"/machines/{index}/ambient_limit",
                references=("site_practice",),
            )
    return Temperature.of(inlet, "degC")
