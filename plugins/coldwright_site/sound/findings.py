"""What a person should know of the sound."""

import math

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, finding, say, tidy
from coldwright.contract.quantities import Length, SoundLevel
from coldwright_basis.compare import below
from coldwright_site.sound.given import ReceiverGiven, SoundGiven

FINDINGS = (
    finding("field_of_another_method", "note", "Fields of the other method were given and not used."),
    finding("over_limit", "stop", "The level is above the limit."),
    finding("limit_close", "check", "The level is less than 3 dB below the limit."),
    finding("near_field", "check", "A receiver is nearer than twice the machine's largest side."),
    finding("background_close", "check", "The measured level is less than 3 dB above the background."),
    finding("barrier_not_counted", "note", "The simple method doesn't count the barrier in the level."),
    finding("above_115", "stop", "A stay is louder than 115 dBA."),
    finding("osha_dose", "stop", "The day's dose is above the permitted one."),
    finding("hearing_conservation", "check", "The day's dose is at least half the permitted one."),
    finding("niosh_dose", "note", "The day's dose is above the recommended one."),
)
"""What `site.sound` may have to say."""


def judge_nearness(given: SoundGiven, receiver: ReceiverGiven, index: int, notes: Notes) -> None:
    """A place so near to a machine that it is no point."""
    for source in given.sources:
        distance = math.dist(source.xyz, receiver.xyz)
        if source.largest_side is not UNSET and below(distance, 2 * source.largest_side.si):
            notes.check(
                "near_field",
                say(
                    "{id} is {distance:.1f} from {source_id}, nearer than twice its largest side of {largest_side:g}.",
                    id=receiver.id,
                    distance=Length.of(distance, "m"),
                    source_id=source.id,
                    largest_side=source.largest_side.as_unit("m"),
                ),
                why="So near, a machine is not a point; the level may be several dB off.",
                resolve="Measure there.",
                field=f"/receivers/{index}",
                references=("iso_9613_2",),
            )


def margin(
    limit: SoundLevel | UnsetType, level: float, when: str, name: str, index: int, notes: Notes
) -> SoundLevel | UnsetType:
    """Limit less level (dB), with a finding where it is below 3 dB."""
    if limit is UNSET or level == -math.inf:
        return UNSET
    margin = tidy(limit.value - level)
    field = f"/receivers/{index}/limit_{when}"
    if margin < 0:
        notes.stop(
            "over_limit",
            say(
                "{name} by {when}: {level:.1f}, {margin:.1f} above the limit of {limit:g}.",
                name=name,
                when=when,
                level=SoundLevel.of(level, "dBA"),
                margin=SoundLevel.of(-margin, "dB"),
                limit=limit,
            ),
            why="The site's permit or the neighbours' rule is broken.",
            resolve=say(
                "{margin:.1f} less: more distance, a screen, quieter fans at night, shorter running.",
                margin=SoundLevel.of(-margin, "dB"),
            ),
            field=field,
            references=("site_practice",),
        )
    elif margin < 3:
        notes.check(
            "limit_close",
            say(
                "{name} by {when}: {level:.1f}, only {margin:.1f} below the limit of {limit:g}.",
                name=name,
                when=when,
                level=SoundLevel.of(level, "dBA"),
                margin=SoundLevel.of(margin, "dB"),
                limit=limit,
            ),
            why="The method itself may be wrong by 3 dB.",
            resolve="Measure, or win 3 dB by distance or a screen.",
            field=field,
            references=("iso_9613_2",),
        )
    return SoundLevel.of(margin, "dB")
