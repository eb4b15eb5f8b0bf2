"""Somebody got hold of the daemon's client ids: its log, its status and its events say so."""

import sys
from pathlib import Path

import pytest
from daemon_process import Daemon

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS / "messages")]

from at_the_station import until  # noqa: E402  # by the path set above
from id_thief import taken  # noqa: E402
from real_broker import real_broker  # noqa: E402

from hostctl.channels.messages.connection.client_ids import FILE_NAME, ClientIds  # noqa: E402

pytestmark = [pytest.mark.broker, pytest.mark.slow]


async def test_being_thrown_off_is_in_the_log_and_the_status(daemon: Daemon, tmp_path: Path):
    with real_broker(tmp_path) as broker:
        daemon.write_host("bench", messages=f"{{broker: 127.0.0.1, port: {broker.port}}}")
        daemon.start()
        await until(lambda: daemon.log.count("connected to the broker") == 2)
        ids = ClientIds(daemon.database.with_name(FILE_NAME), pytest.fail)
        async with taken(broker.port, ids.of("bench"), ids.of("bench urgent")):
            await until(lambda: daemon.log.count("3 times within a minute") == 2)
            await until(lambda: "again and again of late" in daemon.cli("status").stdout)
        assert len(daemon.machine("bench")["warnings"]) == 2


async def test_a_broker_that_is_away_is_in_the_status(daemon: Daemon, tmp_path: Path):
    with real_broker(tmp_path) as broker:
        daemon.write_host("bench", messages=f"{{broker: 127.0.0.1, port: {broker.port}}}")
        daemon.start()
        await until(lambda: daemon.log.count("connected to the broker") == 2)
        broker.kill()
        await until(lambda: "Mind: holds and stops by message: the" in daemon.cli("status").stdout)
        broker.start()
        await until(lambda: daemon.machine("bench")["warnings"] == [])


async def test_each_machine_hears_holds_and_stops_by_a_connection_of_its_own(
    daemon: Daemon, tmp_path: Path
):
    """So that whoever may flood one machine's stops holds up no other machine's."""
    with real_broker(tmp_path) as broker:
        daemon.write_machine("other", "sim://workshop-220?seed=8")
        daemon.write_host("bench", "other", messages=f"{{broker: 127.0.0.1, port: {broker.port}}}")
        daemon.start()
        said = "holds and stops by message: connected to the broker"
        await until(lambda: daemon.log.count(said) == 2)
        for machine in ("bench", "other"):
            (line,) = [at for at in daemon.log.splitlines() if said in at and machine in at]
            assert f"machine={machine}" in line
