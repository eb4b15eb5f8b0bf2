"""One machine followed: whenever it changes, the phones get it as it stands now."""

from collections.abc import Callable, Mapping

from hostctl.channels.page.live.lately import Lately, Recent
from hostctl.channels.page.live.latest import Latest
from hostctl.channels.page.live.on_page import on_page
from hostctl.channels.view.seen import view_of
from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.drafts.study_summary import StudySummary, study_summary
from hostctl.errors import HostctlError
from hostctl.news import RunFinished
from hostctl.run.station import Station


class Follower:
    """Keeps what the page shows of one machine true."""

    def __init__(
        self,
        station: Station,
        latest: Latest,
        recent: Recent,
        say: Callable[[str], None],
        plans: Callable[[], Mapping[str, Study]],
        machine: Machine | None,
    ) -> None:
        self._station = station
        self._latest = latest
        self._recent = recent
        self._say = say
        self._plans = plans
        self._machine = machine
        self._known: dict[str, tuple[Study, StudySummary]] = {}
        self._lately = Lately()

    async def follow(self) -> None:
        """Until cancelled."""
        await self._look_up()
        self.refresh()
        async with self._station.desk.listening() as all_news:
            async for news in all_news:
                self.refresh()
                if isinstance(news, RunFinished):
                    await self._look_up()
                    self.refresh()

    def refresh(self) -> None:
        """Show it as it stands now; for what changes without news too (arming, reachability)."""
        block = self._station.desk.course.last_block
        shown = on_page(view_of(self._station), block, self._lately, self._summaries())
        self._latest.put(self._station.name, shown)

    def _summaries(self) -> dict[str, StudySummary]:
        """Of each study, worked out once as long as its file says the same."""
        before = self._known
        self._known = {
            name: before[name]
            if name in before and before[name][0] is plan
            else (plan, study_summary(plan, self._machine))
            for name, plan in self._plans().items()
        }
        return {name: summary for name, (_, summary) in self._known.items()}

    async def _look_up(self) -> None:
        """Read what is on record; without it the page shows less, and the log says why."""
        try:
            self._lately = await self._recent(self._station.name)
        except HostctlError as cause:
            self._say(f"{self._station.name}: {cause}")
