"""The way in: finds the command, runs it, and turns every error into one line and an exit code.

Nothing is imported here: `--help` costs hardly more than the bare interpreter. Each command's file
is loaded when it is asked for, and loads the rest itself.
"""

import errno
import io
import os
import sys

COMMANDS = {
    "demo": "Watch a whole study run on a simulated printer; nothing is needed but this program.",
    "begin": "From an unknown printer to the first verdict, led: machine file, rig check, study.",
    "run": "Carry out a study on a machine.",
    "level": "Level the bed by its screws, or say how from a table of heights.",
    "resume": "Go on with a run that stopped, at the trial where it stopped.",
    "runs": "List all runs on record.",
    "show": "Show one run: its verdict and, if asked for, its readings.",
    "analyse": "Say what readings of a run or a file prove, how certain it is, and why.",
    "report": "Write what was found as one file to show to others: answer, figures, data.",
    "export": "Write a run's readings as CSV or JSON.",
    "check": "Check machine, study, budget and host files, and say all that is wrong with them.",
    "plan": "Say how many trials it takes to know a spread, to tell two apart, to prove a claim.",
    "budget": "Say how well a reading is known, from all that makes it doubtful.",
    "axis": "Say how true an axis moves, by positions reached at targets (ISO 230-2).",
    "history": "Say whether a machine's rig has changed, from its rig checks over time.",
    "reference": "Print what files, messages, results and exit codes hold, by part and key.",
    "ports": "List the serial ports by their stable names.",
    "serve": "Stay beside the machines as a daemon: button, keys, messages and phone page at once.",
    "status": "Show how the daemon's machines stand.",
    "start": "Ask the daemon to carry out a study, once somebody at the machine has armed it.",
    "answer": "Answer what the daemon asks now: a word, or what the indicator shows.",
    "hold": "Hold the daemon's run after the present move; it stands still until lifted.",
    "stop": "Tell the daemon's machine to halt at once; the emergency stop is its mains switch.",
    "arm": "Allow one start from afar with the code that the machine shows on its own screen.",
    "pair": "Show the phone page's address and a pairing code for a phone, as a QR code.",
    "doctor": "Look for what would keep the daemon from working, and say what to do about it.",
}
INTERRUPTED = 130  # 128 + SIGINT, as shells count
NOBODY_READS = 141  # 128 + SIGPIPE
OUR_FAULT = 70  # EX_SOFTWARE of sysexits.h
OUT_OF_REACH = (errno.EACCES, errno.ENAMETOOLONG)
"""Raised by merely asking whether something is there: of a path that somebody gave."""


def main(argv: list[str] | None = None) -> int:
    """Run the command line. Gives the exit code; prints every error on standard error."""
    words = sys.argv[1:] if argv is None else argv
    try:
        _print_what_can_be_shown()
        code = _dispatch(words)
        sys.stdout.flush()
        return code
    except KeyboardInterrupt as interrupt:
        _complain(str(interrupt) or "Interrupted.")
        return INTERRUPTED
    except BrokenPipeError:
        # Python would write to the closed pipe once more on its way out.
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        return NOBODY_READS
    except Exception as fault:
        return _told(fault)


def _print_what_can_be_shown() -> None:
    for stream in (sys.stdout, sys.stderr):
        if not isinstance(stream, io.TextIOWrapper):
            continue
        if stream.encoding.lower() != "utf-8":
            from hostctl.cli.plain_signs import make_plain

            make_plain(stream)
        elif stream.isatty():
            from hostctl.report.document.plain_ascii import asked_for

            if asked_for(os.environ):
                from hostctl.cli.plain_signs import make_plain

                make_plain(stream, "ascii")


def _dispatch(words: list[str]) -> int:
    if not words or words[0] in ("-h", "--help"):
        sys.stdout.write(_overview())
        return 0
    if words[0] == "--version":
        from hostctl.store.file.program import program

        sys.stdout.write(f"{program()}\n")
        return 0
    from hostctl.cli.parsing import carry_out

    return carry_out(words[0], words[1:], COMMANDS)


def _told(fault: Exception) -> int:
    from hostctl.errors import HostctlError

    if isinstance(fault, HostctlError):
        _complain(str(fault))
        return fault.exit_code
    if isinstance(fault, OSError) and fault.filename and fault.errno in OUT_OF_REACH:
        why = os.strerror(fault.errno).lower()
        _complain(f"{fault.filename}: {why}. Check the path, and whom its folders belong to.")
        return HostctlError.exit_code
    from hostctl.daemon.log.fault_log import keep_fault

    _complain(keep_fault(fault))  # what a user can't act on is our own bug: kept, not shown
    return OUR_FAULT


def _complain(text: str) -> None:
    sys.stderr.write(f"{text}\n")


def _overview() -> str:
    lines = "\n".join(f"  {name:<9} {sentence}" for name, sentence in COMMANDS.items())
    return (
        "hostctl measures how repeatable a way of setting the gap between nozzle and bed is.\n\n"
        f"usage: hostctl COMMAND …\n\n{lines}\n\n"
        "Each command says more, with an example: hostctl COMMAND --help\n"
        "Start with: hostctl demo\n"
    )


if __name__ == "__main__":
    sys.exit(main())
