"""The next steps said, by the commands that carry runs out or tell of them."""

from argparse import Namespace
from dataclasses import replace
from pathlib import Path

from hostctl.cli.next_steps.step import Step, for_people, naming, said, say_beside


def resuming(run: int, database: Path) -> str:
    """The command that goes on with a run."""
    return Step(why="", words=("resume", str(run), *naming(database))).command


def after_carried_out(args: Namespace, database: Path, run: int, found: object) -> str:
    """What is useful once `run`, `level` or `resume` has carried a run out, in words.

    args: of that command: files are named as they were named there. Raises StoreError.
    """
    from hostctl.cli.next_steps.after_run import after_run
    from hostctl.cli.next_steps.done import done_of

    done = done_of(database, run, "run")
    named = {name: value for name in ("study", "machine") if (value := getattr(args, name, None))}
    return said(after_run(replace(done, simulated=args.simulated_people, **named), found))


def say_after_run(
    database: Path, run: int, found: object, *, by: str, asked: tuple[str, ...] = ()
) -> None:
    """The same once a run was looked at, to people only. Raises StoreError."""
    if not for_people():
        return
    from hostctl.cli.next_steps.after_run import after_run
    from hostctl.cli.next_steps.done import done_of

    say_beside(after_run(done_of(database, run, by, asked), found))
