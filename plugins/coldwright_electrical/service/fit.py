"""Whether the breaker and the supply that the site offers will do."""

from typing import Final, Literal

from msgspec import UNSET, Struct

from coldwright.contract import Notes, say
from coldwright.contract.quantities import Current
from coldwright_basis.compare import above, below
from coldwright_electrical.service.circuits import Circuit
from coldwright_electrical.service.given import AvailableGiven, ServiceGiven
from coldwright_electrical.shared import references as ref

USUAL_BREAKER_SHARE: Final = 0.8


class Offer(Struct, frozen=True, gc=False):
    """What the site offers [A]."""

    breaker: float | None = None
    full_rated: bool = False
    spare: float | None = None


class Fit(Struct, frozen=True, gc=False):
    """Whether it will do."""

    verdict: Literal["fits", "does_not_fit", "unknown"]
    reasons: tuple[str, ...]
    spare: float | None


def offer_of(available: AvailableGiven) -> Offer:
    """What the site offers [A], the current already in use taken off."""
    supply, in_use = available.supply_current, available.supply_current_in_use
    return Offer(
        None if available.breaker_rating is UNSET else available.breaker_rating.to("A"),
        available.breaker_full_rated,
        None if supply is UNSET else supply.to("A") - (0.0 if in_use is UNSET else in_use.to("A")),
    )


def follows_conductors(given: ServiceGiven) -> bool:
    """Whether the device of the feeder may follow larger conductors: several machines under nec, each behind its own; or
    one machine, whose feeder ends at a panel where it has a device of its own.
    """
    if _several(given):
        return given.practice == "nec" and given.feeder_conductors != "by_load"
    return given.feeder_conductors == "to_panel"


def _several(given: ServiceGiven) -> bool:
    return sum(machine.quantity for machine in given.machines) > 1


def judge_fit(given: ServiceGiven, feeder: Circuit, offered: Offer, misfits: tuple[str, ...], notes: Notes) -> Fit:
    """Whether the breaker lies between the smallest workable and the greatest device, and the supply carries it.

    `misfits` says which plates are made for another voltage or frequency than the site's: then it will not do either way.
    """
    reasons = [*misfits]
    breaker = offered.breaker
    if breaker is not None:
        _judge_breaker(given, feeder, breaker, reasons, notes)
        if given.practice == "nec" and not offered.full_rated:
            _judge_breaker_loading(feeder, breaker, notes)
    spare = None if offered.spare is None else offered.spare - feeder.ampacity
    if offered.spare is not None and below(offered.spare, feeder.ampacity):
        short = say(
            "The supply has {spare:.5g} to spare, the feeder needs {ampacity:.5g}.",
            spare=Current.of(offered.spare, "A"),
            ampacity=Current.of(feeder.ampacity, "A"),
        )
        reasons.append(short.text())
        notes.stop(
            "supply_short",
            short,
            resolve=say(
                "Find another {shortfall:.4g}, fewer machines, or a generator.",
                shortfall=Current.of(feeder.ampacity - offered.spare, "A"),
            ),
            field="/available/supply_current",
            references=(ref.NEC_440_4.id,),
        )
    follows = follows_conductors(given) and _several(given)
    if feeder.unworkable() and not follows:
        reasons.append(
            f"No standard device lies between {feeder.ampacity:.5g} A and the greatest allowed, "
            f"{feeder.device_standard:g} A."
        )
    if reasons:
        return Fit("does_not_fit", tuple(reasons), spare)
    if breaker is None and follows:
        return Fit("unknown", (f"No breaker at {given.system_voltage} is given.",), spare)
    if breaker is None and offered.spare is None:
        return Fit("unknown", (f"Neither a breaker nor a supply at {given.system_voltage} is given.",), spare)
    if breaker is not None and feeder.device_standard is None and given.practice == "nec" and not follows:
        return Fit("unknown", ("The greatest device is not known.",), spare)
    return Fit("fits", (), spare)


def _judge_breaker(given: ServiceGiven, feeder: Circuit, breaker: float, reasons: list[str], notes: Notes) -> None:
    if any(machine.maximum_overcurrent_device_kind == "fuse" for machine in given.machines):
        notes.check(
            "fuse_only_plate",
            "A plate names fuses only, and a breaker is offered.",
            why="The machine was tested with fuses; the plate wins.",
            resolve="Fit a fused disconnect at the machine.",
            field="/available/breaker_rating",
            references=(ref.NEC_440_4.id,),
        )
    greatest = feeder.device_standard
    if greatest is not None and above(breaker, greatest) and follows_conductors(given):
        notes.note(
            "feeder_device_by_conductors",
            say(
                "The breaker of {breaker:g} is above the {greatest:g} that conductors sized by the load "
                "allow. It follows the larger conductors of the feeder instead, which must carry it; "
                "each machine has its own device behind it.",
                breaker=Current.of(breaker, "A"),
                greatest=Current.of(greatest, "A"),
            )
            if _several(given)
            else say(
                "The breaker of {breaker:g} is above the {greatest:g} that the machine allows. It guards a feeder whose "
                "conductors carry it, to a panel; there the machine has a device of its own, of at most {greatest:g}.",
                breaker=Current.of(breaker, "A"),
                greatest=Current.of(greatest, "A"),
            ),
            field="/available/breaker_rating",
            references=(ref.NEC_430_62_B.id, ref.NEC_430_62.id)
            if given.practice == "nec"
            else (ref.IEC_60364_4_43.id,),
        )
    elif greatest is not None and above(breaker, greatest):
        large = say(
            "The breaker of {breaker:g} is above the greatest device allowed, {greatest:g}.",
            breaker=Current.of(breaker, "A"),
            greatest=Current.of(greatest, "A"),
        )
        reasons.append(large.text())
        notes.stop(
            "breaker_above_maximum",
            large,
            why="The machine's wiring and motors are not protected by it. A feeder may be bigger, its branch device not.",
            resolve="No single device does here: give each machine its own."
            if feeder.unworkable()
            else say(
                "Fit a device of at most {greatest:g}, or a fused disconnect at the machine.",
                greatest=Current.of(greatest, "A"),
            ),
            field="/available/breaker_rating",
            references=(ref.NEC_440_22.id, ref.NEC_440_4.id),
        )
    least = feeder.ampacity if feeder.smallest_workable is None else feeder.smallest_workable
    if below(breaker, least):
        small = say(
            "The breaker of {breaker:g} is below the smallest that works, {least:.5g}.",
            breaker=Current.of(breaker, "A"),
            least=Current.of(least, "A"),
        )
        reasons.append(small.text())
        notes.stop(
            "breaker_below_smallest",
            small,
            why="It would trip at full load or at a start.",
            resolve=say("Ask for a breaker of {least:.5g}.", least=Current.of(least, "A")),
            field="/available/breaker_rating",
            references=(ref.NEC_440_22.id, ref.IEC_60364_4_43.id),
        )


def _judge_breaker_loading(feeder: Circuit, breaker: float, notes: Notes) -> None:
    if feeder.running is None:
        notes.note(
            "breaker_loading_not_tested",
            "The running current is not known, so it is not compared with 80 % of the breaker.",
            references=(ref.UL_489.id,),
        )
    elif above(feeder.running, USUAL_BREAKER_SHARE * breaker):
        notes.check(
            "breaker_near_running_current",
            say(
                "{running:.5g} running is {loaded:.2f} of the {breaker:g} breaker.",
                running=Current.of(feeder.running, "A"),
                loaded=feeder.running / breaker,
                breaker=Current.of(breaker, "A"),
            ),
            why="A breaker not marked for 100 % may trip in a warm enclosure above 0.8 of its rating.",
            resolve=say(
                "Ask for {running:.5g} or more if allowed, or a breaker marked 100 %.",
                running=Current.of(feeder.running / USUAL_BREAKER_SHARE, "A"),
            ),
            field="/available/breaker_rating",
            references=(ref.UL_489.id,),
        )
