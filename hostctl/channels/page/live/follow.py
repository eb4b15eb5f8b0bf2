"""One machine followed: its news folded into the sheet that hangs on the board."""

import asyncio
from collections.abc import Callable, Mapping

from hostctl.channels.page.live.board import Board
from hostctl.channels.page.live.lately import Lately, Recent
from hostctl.channels.page.live.plot import Plot, plotted
from hostctl.channels.page.live.view import sheet_of
from hostctl.channels.terminal.scene import Scene, after
from hostctl.config.study import Study
from hostctl.errors import HostctlError
from hostctl.records import News, RunFinished
from hostctl.run.station import Station


class Follower:
    """Keeps one machine's sheet true."""

    def __init__(
        self,
        station: Station,
        board: Board,
        recent: Recent,
        say: Callable[[str], None],
        plans: Callable[[], Mapping[str, Study]],
    ) -> None:
        self._station = station
        self._board = board
        self._recent = recent
        self._say = say
        self._plans = plans
        self._scene = Scene()
        self._plot = Plot()
        self._lately = Lately()

    async def follow(self) -> None:
        """Until cancelled."""
        await self._look_up()
        self.refresh()
        async with self._station.desk.listening() as all_news:
            async for news in all_news:
                await self._take(news)
                self.refresh()

    def refresh(self) -> None:
        """Hang up the sheet anew; for what changes without news (arming, reachability)."""
        plans = self._plans()
        sheet = sheet_of(self._station, self._scene, self._plot, self._lately, plans)
        self._board.put_up(self._station.name, sheet)

    async def _take(self, news: News) -> None:
        self._scene = after(self._scene, news, asyncio.get_running_loop().time())
        self._plot = plotted(self._plot, news)
        if isinstance(news, RunFinished):
            self.refresh()
            await self._look_up()

    async def _look_up(self) -> None:
        """Read what is on record; without it the page shows less, and the log says why."""
        try:
            self._lately = await self._recent(self._station.name)
        except HostctlError as cause:
            self._say(f"{self._station.name}: {cause}")
            return
        if self._plot.in_hand.block is None:
            self._plot = Plot.from_record(self._lately)
