"""A soak scaled down: hundreds of trials at the highest speed, and the daemon does not grow.

The printer is simulated in a process of its own, since its record of what happened does grow. The
full ten thousand trials: tests/benchmarks/bench_soak.py.
"""

import sys
from pathlib import Path

import pytest
from daemon_process import Daemon

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))

from bench_soak import PROBING, memory_mib, printer_on_tcp, trials_done

RUNS, TRIALS = 4, 250
MOST_GROWTH_KIB_A_TRIAL = 1.0
"""SQLite's page cache grows by some 0.3 KiB a trial, to a bound of 2 MiB; the rest is leeway."""


@pytest.mark.slow
@pytest.mark.timeout(600)
def test_the_daemon_does_not_grow_with_the_trials(daemon: Daemon):
    daemon.patience_s = 300.0  # a whole run, on a busy computer
    with printer_on_tcp() as port:
        daemon.write_machine("bench", port, like="sim-tri")
        (daemon.folder / "studies" / "small.yaml").write_text(PROBING.format(trials=TRIALS))
        daemon.start()
        memory: list[float] = []
        for run in range(1, RUNS + 1):
            trials_done(daemon, run)
            assert daemon.process is not None
            memory.append(memory_mib(daemon.process.pid))
    grown_kib = (memory[-1] - memory[1]) * 1024 / ((RUNS - 2) * TRIALS)
    assert grown_kib < MOST_GROWTH_KIB_A_TRIAL, memory
