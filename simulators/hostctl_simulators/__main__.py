"""`python -m hostctl_simulators`: a simulated printer for others, and people to stand at it; or the
bench, where you are the one who stands at it.

python -m hostctl_simulators printer workshop-220 --seed 7 --pty /tmp/printer --hands /tmp/hands
python -m hostctl_simulators printer stranger --seed 12 --pty /tmp/printer --hands /tmp/hands
python -m hostctl_simulators bench --hands /tmp/hands
python -m hostctl_simulators people --hands /tmp/hands -- hostctl run three-methods --jsonl …
"""

import argparse
import asyncio
import json
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import AsyncExitStack
from dataclasses import asdict
from pathlib import Path
from urllib.parse import urlencode

from hostctl_simulators.board.wording import WORDINGS
from hostctl_simulators.pace import Pacer
from hostctl_simulators.people.at_the_bench import add_bench, talk_at_bench, told_once
from hostctl_simulators.people.hands import RemoteHands, serve_hands
from hostctl_simulators.people.people import People
from hostctl_simulators.people.process import answer_program
from hostctl_simulators.people.remote_bench import RemoteBench
from hostctl_simulators.physical.printers import PRINTERS
from hostctl_simulators.readout.readout import Readout, ReadoutKind
from hostctl_simulators.readout.typing_cable import TypingCable
from hostctl_simulators.simulated_printer import Description, SimulatedPrinter
from hostctl_simulators.strangers import STRANGER
from hostctl_simulators.ways_in.pty_cable import PtyCable
from hostctl_simulators.ways_in.tcp_cable import serve_tcp


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one of them; gives the exit code."""
    asked = _parser().parse_args(arguments)
    try:
        if asked.what == "bench":
            return _bench(asked)
        return asyncio.run(_printer(asked) if asked.what == "printer" else _people(asked))
    except (ValueError, OSError, LookupError) as cause:
        print(f"simulators: {cause}", file=sys.stderr)  # noqa: T201  # this is its user's screen
        return 1
    except KeyboardInterrupt:
        return 130


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m hostctl_simulators", description=__doc__)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    kinds = parser.add_subparsers(dest="what", required=True)
    printer = kinds.add_parser("printer", help="simulate a printer until stopped")
    names = [*sorted(PRINTERS), STRANGER]
    printer.add_argument("name", choices=names, metavar="NAME", help="%(choices)s")
    printer.add_argument("--seed", type=int, default=7)
    printer.add_argument("--speed", default="max", help="max, real, or a factor of real time")
    printer.add_argument("--dialect", choices=sorted(WORDINGS))
    printer.add_argument(
        "--fault",
        action="append",
        default=[],
        metavar="KEY=VALUE",
        help="a key of FaultPlan, or corrupt=SHARE; may be repeated",
    )
    printer.add_argument("--pty", type=Path, metavar="PATH", help="a link to a pseudo-terminal")
    printer.add_argument("--tcp", metavar="HOST:PORT", help="listen there; port 0: a free one")
    printer.add_argument("--hands", type=Path, metavar="PATH", help="a Unix socket for people")
    printer.add_argument(
        "--keep-on-open", action="store_true", help="opening the port does not reset the board"
    )
    printer.add_argument(
        "--indicator", type=Path, metavar="PATH", help="a link to the indicator's own terminal"
    )
    printer.add_argument(
        "--readout",
        action="append",
        default=[],
        metavar="KEY=VALUE",
        help="a key of ReadoutKind, as spoken=unit or noise_mm=0.01; may be repeated",
    )
    printer.add_argument("--cable", type=Path, metavar="PATH", help="a pipe the indicator types in")
    add_bench(kinds)
    people = kinds.add_parser("people", help="answer a program that asks in JSON lines")
    people.add_argument("--hands", type=Path, required=True, metavar="PATH")
    people.add_argument("--seed", type=int, help="of the people; the printer's by default")
    people.add_argument("--quiet", action="store_true", help="do not repeat what the program says")
    people.add_argument("command", nargs="+", help="the program, after --")
    return parser


async def _printer(asked: argparse.Namespace) -> int:
    if asked.pty is None and asked.tcp is None:
        raise ValueError("give --pty PATH or --tcp HOST:PORT")
    query: dict[str, object] = {"seed": asked.seed, "speed": asked.speed}
    query |= {"dialect": asked.dialect} if asked.dialect else {}
    query |= dict(fault.split("=", 1) for fault in asked.fault)
    printer = SimulatedPrinter(Description.parse(f"sim://{asked.name}?{urlencode(query)}"))
    pacer = Pacer(printer.agenda, printer.description.speed)
    told = _told_to_stop()  # from here on: the port's name, once told, may be the cue to stop
    async with AsyncExitStack() as until_the_end:
        if asked.hands is not None:
            await until_the_end.enter_async_context(
                serve_hands(printer.world, asked.hands, printer.panel)
            )
        if asked.tcp is not None:
            host, _, port = asked.tcp.rpartition(":")
            server, taken = await serve_tcp(
                printer, pacer, host, int(port), reset_on_open=not asked.keep_on_open
            )
            until_the_end.callback(server.close)
            _tell(f"socket://{host}:{taken}")
        if asked.pty is not None:
            cable = PtyCable(printer, pacer, asked.pty, reset_on_open=not asked.keep_on_open)
            until_the_end.callback(cable.close)
            _tell(str(asked.pty))
        for close in _indicator_ends(asked, printer, pacer):
            until_the_end.callback(close)
        await told.wait()
    pacer.stop()
    _tell(json.dumps(_account(printer)))
    return 0


def _indicator_ends(
    asked: argparse.Namespace, printer: SimulatedPrinter, pacer: Pacer
) -> Iterator[Callable[[], None]]:
    """The indicator's own cables, told of; gives what takes each away again."""
    if asked.indicator is not None:
        kind, unknown = ReadoutKind.parse(
            urlencode([tuple(each.split("=", 1)) for each in asked.readout])
        )
        if unknown:
            raise ValueError(f"'{unknown[0][0]}' is not a key of an indicator")
        yield PtyCable(Readout(printer.world, kind), pacer, asked.indicator).close
        _tell(str(asked.indicator))
    if asked.cable is not None:
        yield TypingCable(printer.world, asked.cable).close
        _tell(str(asked.cable))


def _told_to_stop() -> asyncio.Event:
    told = asyncio.Event()
    loop = asyncio.get_running_loop()
    for which in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
        loop.add_signal_handler(which, told.set)
    return told


def _account(printer: SimulatedPrinter) -> dict[str, object]:
    """What happened, for whoever asks at the end."""
    return {
        "crashes": [f"{crash.what}: {crash.depth_mm:.3f} mm" for crash in printer.world.crashes],
        "moves": len(printer.board.carriage.done),
        "faults": asdict(printer.counts),
    }


def _tell(line: str) -> None:
    print(line, flush=True)  # noqa: T201  # the port's name, for whoever started us


def _bench(asked: argparse.Namespace) -> int:
    try:
        bench = RemoteBench(Path(asked.hands))
    except OSError:
        raise ValueError(
            f"no simulated printer has its hands at {asked.hands}: start one with --hands PATH"
        ) from None
    try:
        return told_once(bench, asked.words, _tell) if asked.words else talk_at_bench(bench, _tell)
    finally:
        bench.close()


async def _people(asked: argparse.Namespace) -> int:
    hands = RemoteHands(asked.hands)
    try:
        return await answer_program(People(hands, asked.seed), asked.command, show=not asked.quiet)
    finally:
        hands.close()


if __name__ == "__main__":
    sys.exit(main())
