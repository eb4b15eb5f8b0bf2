"""What a person at the terminal has to know now, kept up to date from the news. No drawing here."""

from dataclasses import dataclass, field, replace
from statistics import median

from hostctl.deeds import TurnScrew
from hostctl.records import (
    AnswerRefused,
    CountdownTicked,
    HoldBegan,
    HoldLifted,
    Moving,
    News,
    Place,
    Prompt,
    PromptClosed,
    PromptKind,
    PromptOpened,
    ReadingKept,
    RunFinished,
    RunStarted,
    TrialMarked,
)
from hostctl.run.record.in_hand import InHand, block_of, in_hand_after, trials_done_after

RECENT_PACES = 15
HEADLINES = {
    PromptKind.CONFIRM: "DO THIS",
    PromptKind.SET: "SET GAP",
    PromptKind.ZERO: "ZERO INDICATOR",
    PromptKind.READ: "READ INDICATOR",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """All that the screen shows, but for what is being typed."""

    started: RunStarted | None = None
    place: Place | None = None
    prompt: Prompt | None = None
    countdown: CountdownTicked | None = None
    moving: str = ""
    hold: str = ""
    stopped: bool = False  # the hold began with a STOP
    not_told: bool = False  # which did not reach the machine
    note: str = ""
    in_hand: InHand = field(default_factory=InHand)
    trials_done: int = 0
    paces_s: tuple[float, ...] = ()  # what the last trials took
    kept_at_s: float | None = None
    finished: RunFinished | None = None

    @property
    def headline(self) -> str:
        """The deed in one or two words, to be read from a step away."""
        if self.finished:
            return "FINISHED" if self.finished.complete else "ENDED"
        if self.countdown:
            return f"MOVES IN {self.countdown.seconds_left}"
        if self.hold and self.not_told:
            return "SWITCH IT OFF"
        if self.hold:
            return "STOPPED" if self.stopped else "ON HOLD"
        if self.prompt:
            return _asked_large(self.prompt)
        return "MOVING" if self.moving else "WAIT"

    @property
    def seconds_left(self) -> float | None:
        """How long the rest will probably take; None until three trials are done."""
        if self.started is None or len(self.paces_s) < 2:
            return None
        return median(self.paces_s) * (self.started.trials_total - self.trials_done)


def _asked_large(prompt: Prompt) -> str:
    if prompt.place is None:
        return "READY?"
    return "TURN SCREW" if isinstance(prompt.deed, TurnScrew) else HEADLINES[prompt.kind]


def after(scene: Scene, news: News, at_s: float) -> Scene:
    """The scene once `news` has come. `at_s`: the loop's clock."""
    then = _after(scene, news, at_s)
    return replace(then, trials_done=trials_done_after(then.trials_done, news) or 0)


def _after(scene: Scene, news: News, at_s: float) -> Scene:
    match news:
        case RunStarted():
            return Scene(started=news)
        case PromptOpened(prompt=prompt):
            return _asked(scene, prompt)
        case PromptClosed():  # what was said of it must not be taken for the next one's
            return replace(scene, prompt=None, note="")
        case AnswerRefused(reason=reason):
            return replace(scene, note=f"Not taken: {reason}.")
        case CountdownTicked():
            return replace(scene, countdown=news, moving="")
        case Moving(what=what):
            return replace(scene, countdown=None, moving=what)
        case ReadingKept():
            return _kept(scene, news, at_s)
        case TrialMarked():
            return _marked(scene, news)
        case HoldBegan(reason=reason, stopped=stopped, not_told=not_told):
            held = replace(scene, hold=reason, stopped=stopped, not_told=not_told)
            return replace(held, countdown=None, moving="", note="")
        case HoldLifted():
            return replace(scene, hold="", stopped=False, not_told=False, note="")
        case RunFinished():
            return replace(scene, finished=news, countdown=None, moving="", prompt=None)


def _asked(scene: Scene, prompt: Prompt) -> Scene:
    note = "" if prompt.kind is PromptKind.READ else scene.note  # of the reading before this one
    scene = replace(scene, prompt=prompt, countdown=None, moving="", note=note)
    if prompt.place is None:
        return scene
    if block_of(prompt.place) != scene.in_hand.block:
        scene = replace(scene, in_hand=InHand())
    return replace(scene, place=prompt.place)


def _kept(scene: Scene, news: ReadingKept, at_s: float) -> Scene:
    paces = scene.paces_s
    if scene.kept_at_s is not None:
        paces = (*paces, at_s - scene.kept_at_s)[-RECENT_PACES:]
    return replace(
        scene,
        place=news.place,
        in_hand=in_hand_after(scene.in_hand, news),
        paces_s=paces,
        kept_at_s=at_s,
        note="Zero kept." if news.is_zero else "Reading kept.",
    )


def _marked(scene: Scene, news: TrialMarked) -> Scene:
    what = (
        "This block is begun again" if news.whole_block else f"Trial {news.place.trial} {news.mark}"
    )
    in_hand = in_hand_after(scene.in_hand, news)
    return replace(scene, in_hand=in_hand, note=f"{what}: {news.reason}.")
