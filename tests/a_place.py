"""The place that tests speak of; `dataclasses.replace` makes another of it."""

from hostctl.records import Place

A_PLACE = Place(
    run=1,
    block=1,
    round=1,
    trial=1,
    attempt=1,
    method="paper-slip",
    operator="volunteer-a",
    point="front-left",
    trials_done=0,
    trials_total=60,
)
