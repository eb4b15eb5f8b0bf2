"""The page's addresses.

GET `/` is the page, `/pair` where a phone is paired, `/live` the stream that says how each machine
stands, `/reports/RUN` a run's report, `/reports/RUN/outcome` what it comes to in short; each act is
one POST of JSON. See `guards` and `admission` for who may, `acts` for what comes of it.
"""

from collections.abc import Awaitable, Callable, Mapping
from datetime import datetime
from functools import partial

from aiohttp import web

from hostctl.channels.page.access import guards
from hostctl.channels.page.access.admission import Admission
from hostctl.channels.page.access.allowance import Allowance
from hostctl.channels.page.access.connections import Connection
from hostctl.channels.page.access.places import origin
from hostctl.channels.page.access.sessions import token_of
from hostctl.channels.page.acts import CHANNEL, TAKEN, Acts, Outcome, outcome_of
from hostctl.channels.page.assets import read_assets
from hostctl.channels.page.drafting import LARGEST_DRAFT, Drafting
from hostctl.channels.page.live.watchers import Watchers
from hostctl.channels.page.reports import HEADERS, KeptReports, Report
from hostctl.channels.view.data import Json
from hostctl.run.station import NOT_TOLD, Station

LARGEST_BODY = 4096

Act = Callable[[Station, Json, str], Awaitable[Outcome | Json]]
"""What comes of it: an outcome, or what was asked for."""
Sent = Callable[[str, str], Awaitable[web.StreamResponse]]
Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]


class Routes:
    """What is served, where."""

    def __init__(
        self,
        stations: Mapping[str, Station],
        geometry: Mapping[str, Json],
        admission: Admission,
        watchers: Watchers,
        reports: KeptReports,
        drafting: Drafting | None,
        *,
        now: Callable[[], datetime],
        clock: Callable[[], float],
        address: str | None,
    ) -> None:
        self._stations = stations
        self._geometry = geometry
        self._admission = admission
        self._watchers = watchers
        self._reports = reports
        self._drafting = drafting
        self._address = address
        self._assets = read_assets()
        self._acts = Acts(now)
        self._answers = Allowance(clock, at_once=20, a_second=4)
        self._drafts = Allowance(clock, at_once=20, a_second=2)
        self._stops = Allowance(clock, at_once=20, a_second=10)
        self._strangers = Allowance(clock, at_once=60, a_second=10)  # a page takes a score

    def application(self) -> web.Application:
        """All of them, behind the guard."""
        app = web.Application(client_max_size=LARGEST_BODY, middlewares=[self._guard])
        app.on_response_prepare.append(_add_headers)
        app.router.add_get("/", self._page)
        app.router.add_get("/pair", self._pair_page)
        app.router.add_get("/live", self._live)
        app.router.add_get("/assets/{name}", self._asset)
        reports = self._reports
        for path, sent in (
            ("/reports/{run}", partial(reports.sent, keep=False)),
            ("/reports/{run}/keep", partial(reports.sent, keep=True)),
            ("/reports/{run}/outcome", reports.in_short),
        ):
            app.router.add_get(path, self._of_a_run(sent))
        app.router.add_post("/pair", self._admission.take_code)
        app.router.add_post("/invite", self._admission.invite)
        for path, act, allowance in self._act_table():
            app.router.add_post(path, self._acting(act, allowance))
        if self._drafting is not None:
            self._add_drafting(app, self._drafting)
        return app

    def _add_drafting(self, app: web.Application, drafting: Drafting) -> None:
        for path, drafted in (("/draft", drafting.step), ("/draft/keep", drafting.keep)):
            act = partial(_drafted, drafted)
            app.router.add_post(path, self._acting(act, self._drafts, LARGEST_DRAFT))

    def _act_table(self) -> list[tuple[str, Act, Allowance]]:
        """Stopping has an allowance of its own, so that nothing else can use it up."""
        acts = self._acts
        return [
            ("/answer", acts.answer, self._answers),
            ("/hold", lambda station, _, browser: acts.hold(station, browser), self._stops),
            ("/halt", _halt, self._stops),
            ("/start", lambda station, said, _: acts.start(station, said), self._answers),
            ("/show-code", _show_code, self._answers),
            ("/arm", lambda station, said, _: acts.arm(station, said), self._answers),
            ("/report", lambda station, said, _: acts.report(station, said), self._answers),
        ]

    @web.middleware
    async def _guard(self, request: web.Request, handler: Handler) -> web.StreamResponse:
        if not guards.is_our_name(request.headers.get("Host", ""), self._address):
            return guards.refusal(421, "this computer does not go by that name")
        if request.method == "POST" and not guards.from_our_page(request):
            return guards.refusal(403, "that did not come from this page")
        known = self._admission.browser(request)
        if known is None and not self._strangers.take(origin(request.remote or "")):
            refused = guards.refusal(429, guards.TOO_MANY)
            refused.force_close()
            return refused
        if known is not None and isinstance(request.protocol, Connection):
            request.protocol.belongs_to(known)
        return await handler(request)

    async def _page(self, request: web.Request) -> web.Response:
        """The page; a browser that is not known is sent to be paired, or let in by itself."""
        known = self._admission.browser(request)
        if known is None and self._admission.needs_pairing:
            raise web.HTTPSeeOther("/pair")
        response = self._file("page.html")
        if known is None:
            self._admission.let_in(response)
        return response

    async def _pair_page(self, request: web.Request) -> web.Response:
        return self._file("pair.html")

    async def _asset(self, request: web.Request) -> web.Response:
        return self._file(request.match_info["name"])

    def _file(self, name: str) -> web.Response:
        asset = self._assets.get(name)
        if asset is None:
            raise web.HTTPNotFound
        return web.Response(body=asset.body, content_type=asset.content_type, charset="utf-8")

    async def _live(self, request: web.Request) -> web.StreamResponse:
        cookie = self._admission.browser(request)
        if cookie is None or not guards.may_follow(request):
            return guards.refusal(401, guards.NOT_PAIRED)
        hello: Json = {
            "token": token_of(cookie),
            "machines": self._geometry,
            "pairing": self._admission.needs_pairing,
        }
        return await self._watchers.serve(
            request, hello, lambda: self._admission.browser(request) is not None
        )

    def _of_a_run(self, sent: Sent) -> Handler:
        """What is kept of a run, for a known browser."""

        async def handler(request: web.Request) -> web.StreamResponse:
            browser = self._admission.browser(request)
            if browser is None or not guards.may_follow(request):
                return guards.refusal(401, guards.NOT_PAIRED)
            return await sent(request.match_info["run"], browser)

        return handler

    def _acting(self, act: Act, allowance: Allowance, largest: int = LARGEST_BODY) -> Handler:
        """An act behind its checks: a known browser, its token, not too often, JSON, a machine."""

        async def handler(request: web.Request) -> web.StreamResponse:
            browser = self._admission.browser_with_token(request)
            if browser is None:
                return guards.refusal(401, guards.NOT_PAIRED)
            if not allowance.take(browser):
                return guards.refusal(429, guards.TOO_MANY)
            said = await guards.json_of(request.clone(client_max_size=largest))
            station = self._stations.get(str(said.get("machine"))) if said else None
            if said is None or station is None:
                return guards.refusal(400, "that names no machine known here")
            outcome = await act(station, said, browser)
            if not isinstance(outcome, Outcome):
                return web.json_response(outcome)
            if outcome is TAKEN:
                return web.json_response({})
            return guards.refusal(outcome.status, outcome.reason)

        return handler


async def _halt(station: Station, said: Json, browser: str) -> Outcome:
    return TAKEN if station.halt(CHANNEL) else Outcome(409, NOT_TOLD)


async def _drafted(
    drafted: Callable[[str, Json], Awaitable[Outcome | Json]],
    station: Station,
    said: Json,
    browser: str,
) -> Outcome | Json:
    return await drafted(station.name, said)


async def _show_code(station: Station, said: Json, browser: str) -> Outcome:
    return outcome_of(station.show_code())


async def _add_headers(request: web.Request, response: web.StreamResponse) -> None:
    response.headers.update(HEADERS if isinstance(response, Report) else guards.HEADERS)
