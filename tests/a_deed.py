"""A deed for each kind of prompt, for tests that ask for something, whatever it is."""

from hostctl.deeds import (
    ClearBed,
    Deed,
    ReadIndicator,
    SendReading,
    SetGap,
    WatchLamp,
    ZeroIndicator,
)
from hostctl.news import PromptKind

A_DEED: dict[PromptKind, Deed] = {
    PromptKind.CONFIRM: ClearBed(),
    PromptKind.SET: SetGap(method="paper-slip"),
    PromptKind.ZERO: ZeroIndicator(),
    PromptKind.READ: ReadIndicator(),
    PromptKind.SEND: SendReading(),
    PromptKind.CHOOSE: WatchLamp(),
}
