"""A study of the true gap: the tie first, checked at the end, each deed in its place."""

from tie_people import at_work

from hostctl.news import HoldBegan


def test_a_tie_by_touch_comes_first_and_is_checked_at_the_end():
    shop, person = at_work()
    finished = shop.carry_out(person)
    print([item.reason for item in shop.told(HoldBegan)])
    print(person.deeds)
    print(shop.printer.offences)
    for event in shop.store.events:
        if event.kind.startswith(("tie", "plunger", "deci")):
            print(event.kind, event.text, event.data)
    print(
        [
            (
                r.place.block,
                r.place.trial,
                r.place.method,
                r.reading.value_mm,
                r.place.trials_done,
                r.place.trials_total,
            )
            for r in shop.store.readings
        ]
    )
    assert finished.complete
    assert 0
