"""The picture of a station: what a person far from it has to know, kept up from its news."""

import asyncio
from collections.abc import Callable

from hostctl.channels.json_lines.json_words import Json, object_for
from hostctl.channels.terminal.scene import Scene, after
from hostctl.daemon.log.news_log import NewsLog
from hostctl.records import PromptOpened
from hostctl.run.station import Station


class Changes:
    """A bell for those who watch: rung at any change, and heard by whoever waits then."""

    def __init__(self) -> None:
        self._waiting: set[asyncio.Event] = set()

    def ring(self) -> None:
        """Something changed."""
        for waiting in self._waiting:
            waiting.set()

    async def next(self, within_s: float) -> None:
        """Wait for the next change, `within_s` at the longest."""
        heard = asyncio.Event()
        self._waiting.add(heard)
        try:
            async with asyncio.timeout(within_s):
                await heard.wait()
        except TimeoutError:
            return
        finally:
            self._waiting.discard(heard)


class Picture:
    """Follows one station's news; logs them, and tells whoever watches that something changed."""

    def __init__(self, station: Station, log: NewsLog, on_change: Callable[[], None]) -> None:
        self.station = station
        self._log = log
        self._on_change = on_change
        self._scene = Scene()

    async def follow(self) -> None:
        """Until cancelled."""
        loop = asyncio.get_running_loop()
        async with self.station.desk.listening() as all_news:
            async for news in all_news:
                self._scene = after(self._scene, news, loop.time())
                self._log.note(news)
                self._on_change()

    def as_json(self) -> Json:
        """All of it, as the local socket tells it."""
        station, scene = self.station, self._scene
        prompt, armed = station.desk.open_prompt, station.arming.armed
        return {
            "machine": station.name,
            "standing": station.standing.value,
            "headline": scene.headline if station.desk.started else station.standing.value,
            "why_no_line": "" if station.reachable else station.why_unreachable,
            "own_job": station.own_job,
            "heat": station.heat,
            "notice": station.notice,
            "warnings": list(station.warnings.values()),
            "studies": list(station.studies()),
            "queued": station.queued,
            "armed": {"by": armed.by, "until": armed.until.isoformat()} if armed else None,
            "run": self._run(),
            "prompt": object_for(PromptOpened(prompt=prompt)) if prompt else None,
            "countdown": object_for(scene.countdown) if scene.countdown else None,
            "moving": scene.moving,
            "hold": station.desk.held.reason if station.desk.held else "",
            "stopped": station.desk.held is not None and station.desk.held.stopped,
            "not_told": station.desk.held is not None and station.desk.held.not_told,
            "readings_mm": list(scene.in_hand.readings_mm[-20:]),
            "resolution_mm": scene.in_hand.resolution_mm,
        }

    def _run(self) -> Json | None:
        started, scene = self.station.desk.started, self._scene
        if started is None:
            return None
        return {
            "run": started.run,
            "study": started.study,
            "trials_done": scene.trials_done,
            "trials_total": started.trials_total,
            "seconds_left": scene.seconds_left,
        }
