"""What breaks into a trial: words of the operator, and faults. Internal to the run."""

from hostctl.news import Answer
from hostctl.records import Place


class Break(Exception):
    """An operator's word that ends what is going on."""

    def __init__(self, answer: Answer) -> None:
        super().__init__(f"{answer.word} on {answer.channel}")
        self.answer = answer


class HoldAsked(Break):
    """Stand still until told otherwise."""


class EndAsked(Break):
    """Stop for today. `hands_may_be_in`: nothing may move any more."""

    def __init__(self, answer: Answer, *, hands_may_be_in: bool) -> None:
        super().__init__(answer)
        self.hands_may_be_in = hands_may_be_in
        self.reason = f"ended on {answer.channel}"


class NotHeatedAgain(EndAsked):
    """A thermal fault was looked at, but the study heats: it ends, so that a person begins anew."""

    def __init__(self, answer: Answer) -> None:
        super().__init__(answer, hands_may_be_in=True)
        self.reason = "a thermal fault: this study heats the bed, so it is not gone on with"


class TieRefused(EndAsked):
    """No tie can be made here: it ends. Leads are in the machine, so nothing moves any more."""

    def __init__(self, answer: Answer, why: str) -> None:
        super().__init__(answer, hands_may_be_in=True)
        self.reason = f"the tie is refused: {why}"


class TrialBreak(Break):
    """A word about the trial in hand, at `place`."""

    def __init__(self, answer: Answer, place: Place) -> None:
        super().__init__(answer)
        self.place = place


class RedoAsked(TrialBreak):
    """This attempt does not count; again."""


class SkipAsked(TrialBreak):
    """Leave this trial out."""
