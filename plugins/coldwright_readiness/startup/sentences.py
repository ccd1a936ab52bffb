from coldwright.contract.language import marked as _

FOREIGN = _("Wait")
SENTENCES: tuple[str, ...] = ()
WITH_PLACES: tuple[str, ...] = ()
