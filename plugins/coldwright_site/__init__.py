"""The site family: lift, ground, placement, sound, transport and weather of a hired machine."""

from coldwright.contract import Plugin
from coldwright_site.ground import ground
from coldwright_site.lift import lift
from coldwright_site.placement import placement
from coldwright_site.sound import sound
from coldwright_site.transport import transport
from coldwright_site.weather import weather
from coldwright_site.weather_1 import weather_1

plugin = Plugin(
    name="site",
    title="Lift, ground, placement, sound, transport and weather",
    contract=">=1.2,<2",
    calculators=(lift, ground, placement, sound, transport, weather, weather_1),
    summary="Lift, ground, placement, sound, transport, weather.",
)
