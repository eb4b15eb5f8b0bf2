"""The phone page: its weight, and the time from opening it to a prompt that can be seen.

Run by name: `python tests/benchmarks/bench_page.py`. The floor is a bare page of one file from the
same server library with the same question in it. Page and floor take turns in one Chromium; given
are medians, on this computer and with the browser's processor slowed six times (a modest phone).
"""

import asyncio
import sys
import tempfile
from pathlib import Path
from statistics import median

from aiohttp import web

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[1] / "page"))

from chromium import Chromium, Phone, chromium_or_skip
from kept_port import kept_port
from page_bench import ROOT, served

from hostctl.news import PromptKind

ROUNDS = 9
HEAVIEST_KB = 100
BARE = "<!doctype html><title>bare</title><p>Slide the paper.</p><button id=done>DONE</button>"
WHEN_SEEN = """
const look = () => document.getElementById('done')?.offsetParent
  ? (window.seenAt = performance.now()) : requestAnimationFrame(look);
look();
"""


async def bare_page() -> tuple[web.AppRunner, str]:
    app = web.Application()
    app.router.add_get("/", lambda _: web.Response(text=BARE, content_type="text/html"))
    runner = web.AppRunner(app, access_log=None)
    await runner.setup()
    port = kept_port()
    await web.TCPSite(runner, "127.0.0.1", port).start()
    return runner, f"http://127.0.0.1:{port}"


async def seen_after_ms(phone: Phone, url: str) -> float:
    await phone.do("Page.navigate", url="about:blank")
    await phone.do("Page.navigate", url=url)
    await phone.until("window.seenAt > 0")
    seen = await phone.look("window.seenAt")
    assert isinstance(seen, int | float)
    return float(seen)


async def compare(phone: Phone, page: str, floor: str) -> tuple[float, float]:
    pages, floors = [], []
    for _ in range(ROUNDS):
        pages.append(await seen_after_ms(phone, page))
        floors.append(await seen_after_ms(phone, floor))
    return median(pages), median(floors)


async def main() -> None:
    assets = ROOT / "hostctl/channels/page/assets"
    files = [file for file in assets.iterdir() if file.name != "draft.js"]  # fetched when asked for
    weight = sum(file.stat().st_size for file in files) / 1000
    print(f"weight, all files but draft.js: {weight:.1f} kB (goal: under {HEAVIEST_KB} kB)")
    browser = Chromium(chromium_or_skip(), Path(tempfile.mkdtemp()))
    runner, floor = await bare_page()
    try:
        async with browser.phones() as phones, served() as bench:
            asked = asyncio.create_task(bench.ask(PromptKind.SET, "Slide the paper."))
            phone = await phones.open(floor)
            await phone.do("Page.addScriptToEvaluateOnNewDocument", source=WHEN_SEEN)
            for rate in (1, 6):
                await phone.do("Emulation.setCPUThrottlingRate", rate=rate)
                ours, bare = await compare(phone, bench.url, floor)
                print(
                    f"first prompt seen, processor {rate}x slower: {ours:.0f} ms; "
                    f"bare page {bare:.0f} ms; ratio {ours / bare:.1f}"
                )
            asked.cancel()
    finally:
        await runner.cleanup()
        browser.close()


asyncio.run(main())
