"""The order with every gap filled: what was assumed in its place is asked in the plan."""

from dataclasses import dataclass
from typing import Literal

from msgspec import UNSET

from coldwright.contract.quantities import Frequency, Length, PressureDifference, Temperature, VolumeFlow
from coldwright_booking.fleet.given import Fleet
from coldwright_booking.order.given import Order
from coldwright_booking.order.questions import OpenQuestion, Questions, Who

USUAL_TAP = VolumeFlow(0.8, "L/s")
"""A garden hose (common practice)."""
FROST = 276.15
"""Air, K, at and above which plain water is left outdoors (3 degC)."""


@dataclass(frozen=True)
class Facts:
    """The order as it is worked with."""

    order: Order
    fleet: Fleet
    elevation: Length
    indoors: bool
    lowest_ambient: Temperature | None
    highest_point: Length
    fittings: float
    load_side_drop: PressureDifference
    lowest_load: float
    frequency: Frequency
    dip_limit: float
    pump: Literal["machine", "site"]
    lift: Literal["crane", "fork_truck", "roll_off"]
    redundancy: Literal["none", "spare_machine", "spare_circuit"]
    fill_flow: VolumeFlow
    days: int
    open: tuple[OpenQuestion, ...]
    """What the order leaves open, with what was taken in its place."""
    left_aside: tuple[str, ...] = ()
    """Types that were tried and ruled out."""

    @property
    def rules(self) -> Literal["us", "europe"]:
        """Whose rules of road and ground."""
        return "us" if self.order.practice == "nec" else "europe"

    @property
    def who_feeds(self) -> Who:
        """Who knows the supply."""
        return who_feeds(self.order)

    @property
    def coldest_still(self) -> float | None:
        """Coldest air, K, that the standing loop meets; None where it is not given; no frost indoors."""
        if self.indoors:
            return None
        return None if self.lowest_ambient is None else self.lowest_ambient.si

    @property
    def warmest_still(self) -> float:
        """Of the loop before the first start, K: that of the hottest air."""
        return max(self.order.site.design_ambient_temperature.si, self.order.duty.leaving_temperature.si)


def facts_of(order: Order, fleet: Fleet) -> Facts:
    """Fill the gaps of the order."""
    questions = Questions()
    site, routes, duty = order.site, order.routes, order.duty
    if site.elevation is UNSET:
        questions.ask(
            "/site/elevation", Length(0, "m"), "Thin air takes capacity from machines and generator.", "customer"
        )
    if site.indoors is UNSET:
        questions.ask("/site/indoors", "outdoors", "Frost, sound and the air of the condensers.", "customer")
    if routes.highest_point is UNSET:
        questions.ask(
            "/routes/highest_point", Length(5, "m"), "Fill pressure, and with it relief and vessel.", "customer"
        )
    if routes.hose_fittings is UNSET:
        questions.ask(
            "/routes/hose_fittings", "loss coefficients of 6 together", "Flow and choice of hose.", "hire_company"
        )
    if order.load_side.rated_pressure_drop is UNSET:
        questions.ask(
            "/load_side/rated_pressure_drop",
            PressureDifference(50, "kPa"),
            "Whether the pump moves the flow, and the hose that is chosen.",
            "site_mechanic",
            decides=True,
        )
    if order.load_side.pump is UNSET:
        questions.ask("/load_side/pump", "the machine's pump", "Flow, starting and who proves flow.", "site_mechanic")
    if duty.lowest_load_fraction is UNSET:
        questions.ask(
            "/duty/lowest_load_fraction",
            "0.25",
            "Turndown, least loop volume and the generator's light load.",
            "customer",
        )
    if order.access.lift is UNSET:
        questions.ask("/access/lift", "crane", "Lifting gear, people and the time of arrival.", "customer")
    if order.critical and order.redundancy is UNSET:
        questions.ask(
            "/redundancy", "none", "Nothing may fail without the cooling failing, and it is critical.", "customer",
            decides=True,
        )  # fmt: skip
    if order.supply.frequency is UNSET:
        usual = 60 if order.practice == "nec" else 50
        questions.ask("/supply/frequency", Frequency(usual, "Hz"), "Which machines can run at all.", who_feeds(order))
    if site.fill_flow is UNSET:
        questions.ask("/site/fill_flow", USUAL_TAP, "Time to fill the loop.", "site_mechanic")
    period = order.period
    return Facts(
        order=order,
        fleet=fleet,
        elevation=Length(0, "m") if site.elevation is UNSET else site.elevation,
        indoors=site.indoors is True,
        lowest_ambient=None if site.lowest_ambient_temperature is UNSET else site.lowest_ambient_temperature,
        highest_point=Length(5, "m") if routes.highest_point is UNSET else routes.highest_point,
        fittings=6.0 if routes.hose_fittings is UNSET else routes.hose_fittings,
        load_side_drop=_drop(order),
        lowest_load=0.25 if duty.lowest_load_fraction is UNSET else duty.lowest_load_fraction,
        frequency=_frequency(order),
        dip_limit=_dip(order),
        pump="machine" if order.load_side.pump is UNSET else order.load_side.pump,
        lift="crane" if order.access.lift is UNSET else order.access.lift,
        redundancy="none" if order.redundancy is UNSET else order.redundancy,
        fill_flow=USUAL_TAP if site.fill_flow is UNSET else site.fill_flow,
        days=(period.to - period.from_).days + 1,
        open=questions.listed(),
    )


def who_feeds(order: Order) -> Who:
    """Who knows the supply: a set that is hired along is not the site's."""
    return "hire_company" if order.supply.source == "generator" else "site_electrician"


def _drop(order: Order) -> PressureDifference:
    drop = order.load_side.rated_pressure_drop
    return PressureDifference(50, "kPa") if drop is UNSET else drop


def _frequency(order: Order) -> Frequency:
    frequency = order.supply.frequency
    return Frequency(60 if order.practice == "nec" else 50, "Hz") if frequency is UNSET else frequency


def _dip(order: Order) -> float:
    limit = order.supply.starting_dip_limit_fraction
    return 0.20 if limit is UNSET else limit
