"""The examination: what would keep the daemon from working, each with what to do."""

import ctypes
import socket
import ssl
import subprocess
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from daemon_process import Daemon
from kept_port import kept_port

from hostctl.config.host import Messages, Page, Tls
from hostctl.daemon.clock import clock_is_set
from hostctl.daemon.examination.broker_check import broker_findings
from hostctl.daemon.examination.examination import examine
from hostctl.daemon.examination.page_check import page_findings

Finds = Callable[[], dict[str, str]]


@pytest.fixture
def finds(daemon: Daemon, monkeypatch: pytest.MonkeyPatch) -> Finds:
    """What is found, by what was looked at; MEND before what is to be mended."""
    for name in ("HOSTCTL_DATABASE", "HOSTCTL_SOCKET", "RUNTIME_DIRECTORY"):
        monkeypatch.setenv(name, daemon.env[name])

    def find() -> dict[str, str]:
        found: dict[str, str] = {}
        for finding in examine(daemon.folder, None):
            said = f"{'' if finding.good else 'MEND '}{finding.found} {finding.mend}\n"
            found[finding.what] = found.get(finding.what, "") + said
        return found

    return find


def test_a_directory_that_is_right_has_little_to_mend(finds: Finds):
    found = finds()
    assert not found["configuration"].startswith("MEND")
    assert "simulated: no port to look at" in found["machine 'bench'"]
    assert "GB free" in found["disk"]
    assert found["daemon"].startswith("not running Start it")
    assert "page" not in found
    assert "broker" not in found


def test_mistakes_in_the_directory_are_said_one_by_one(daemon: Daemon, finds: Finds):
    daemon.write_host("bench", arm_for_s=1)
    assert "must be at least 10" in finds()["configuration"]
    assert finds()["configuration"].startswith("MEND")


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda path: None, "is not there Switch it on and plug it in"),
        (lambda path: path.touch(), "can change when things are plugged in again"),
        (lambda path: path.symlink_to("/dev/null"), "is there and may be opened"),
    ],
)
def test_a_machines_port_is_looked_at(daemon: Daemon, finds: Finds, make, said: str):
    port = daemon.folder / "tty"
    make(port)
    daemon.write_machine("bench", str(port))
    assert said in finds()["machine 'bench'"]


def test_a_machine_that_no_study_fits_is_said(daemon: Daemon, finds: Finds):
    (daemon.folder / "studies" / "small.yaml").unlink()
    assert "no study fits it" in finds()["machine 'bench'"]


def test_what_may_not_even_be_looked_at_is_said(daemon: Daemon, finds: Finds):
    """Root may look at anything, so the test takes names that are too long for anybody."""
    nowhere = daemon.folder / ("x" * 300)
    daemon.write_host("bench", database=nowhere, socket=nowhere)
    found = finds()
    assert found["disk"].startswith(str(nowhere))
    assert "the socket can't be used" in found["daemon"]


def test_a_missing_button_or_key_is_said(daemon: Daemon, finds: Finds):
    (daemon.folder / "pad-bench").unlink()
    assert "can't be read Plug it in" in finds()["keys"]


def test_a_page_for_this_computer_alone_is_said(daemon: Daemon, finds: Finds):
    daemon.write_host("bench", page="{port: 1}")
    assert "for this computer alone, not served now" in finds()["page"]


@pytest.mark.slow
def test_a_daemon_that_answers_is_found(daemon: Daemon, finds: Finds):
    daemon.start()
    assert f"answers at {daemon.socket}" in finds()["daemon"]


@pytest.mark.slow
def test_the_command_ends_with_1_when_something_is_to_be_mended(daemon: Daemon):
    daemon.write_machine("bench", "/dev/serial/by-id/not-there")
    done = daemon.cli("doctor", "--config", str(daemon.folder))
    assert done.returncode == 1
    assert "MEND  machine 'bench'" in done.stdout


@pytest.mark.parametrize("can_mend", [True, False])
def test_a_clock_that_nothing_here_can_mend_is_only_noted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, can_mend: bool
):
    if can_mend:
        (tmp_path / "timedatectl").touch(mode=0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr("hostctl.daemon.examination.examination.clock_is_set", lambda: False)
    *_, clock = examine(tmp_path / "nowhere", None)
    assert (clock.what, clock.good, clock.note) == ("clock", not can_mend, not can_mend)
    assert ("timedatectl" in clock.mend) is can_mend


@pytest.mark.slow
def test_a_daemon_that_does_not_run_is_noted_and_nothing_is_to_be_mended_for_it(daemon: Daemon):
    done = daemon.cli("doctor", "--config", str(daemon.folder))
    assert "note  daemon: not running" in done.stdout
    assert "good  daemon" not in done.stdout


def test_the_clock_is_asked_of_the_kernel():
    """adjtimex(2): 5, TIME_ERROR, is "not synchronised"; checked by a call of the other name."""
    state = ctypes.CDLL(None).ntp_adjtime(ctypes.create_string_buffer(256))
    assert clock_is_set() == (state != 5)


# ---------------------------------------------------------------- the broker


@contextmanager
def listening(context: ssl.SSLContext | None = None) -> Iterator[int]:
    """Something that accepts one connection, under TLS if there is a context."""
    server = socket.create_server(("127.0.0.1", 0))

    def accept() -> None:
        connection, _ = server.accept()
        try:
            if context is not None:
                connection = context.wrap_socket(connection, server_side=True)
            connection.recv(1)
        except OSError:
            pass
        connection.close()

    thread = threading.Thread(target=accept)
    thread.start()
    yield server.getsockname()[1]
    thread.join()
    server.close()


def certificate(folder: Path, days: int) -> tuple[Path, ssl.SSLContext]:
    """A self-signed one for localhost."""
    key, made = folder / "key", folder / "certificate"
    subprocess.run(
        [
            *("openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256"),
            *("-nodes", "-keyout", str(key), "-out", str(made), "-days", str(days)),
            *("-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost"),
        ],
        check=True,
        capture_output=True,
    )
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(made, key)
    return made, context


def found_of(settings: Messages) -> list[tuple[bool, str]]:
    return [(good, found) for good, found, _ in broker_findings(settings)]


def test_a_broker_that_is_not_there_is_said():
    with listening() as port:
        assert found_of(Messages(broker="127.0.0.1", port=port, user="x"))[-1][0]
    good, found = found_of(Messages(broker="127.0.0.1", port=port, user="x"))[-1]
    assert not good
    assert "does not answer (connection refused)" in found


@pytest.mark.parametrize(("mode", "good"), [(0o600, True), (0o640, False), (0o604, False)])
def test_the_password_is_for_its_owner_alone(tmp_path: Path, mode: int, good: bool):
    password = tmp_path / "password"
    password.write_text("secret")
    password.chmod(mode)
    with listening() as port:
        settings = Messages(broker="127.0.0.1", port=port, password_file=str(password))
        found = found_of(settings)
    assert found[0][0] is good
    assert "secret" not in str(found)


@pytest.mark.parametrize(("days", "good"), [(400, True), (10, False)])
def test_a_certificate_that_ends_soon_is_said(tmp_path: Path, days: int, good: bool):
    made, context = certificate(tmp_path, days)
    with listening(context) as port:
        tls = Tls(ca_file=str(made))
        found = found_of(Messages(broker="localhost", port=port, user="x", tls=tls))
    assert found[0][0] is good
    assert f"({days - 1} days)" in found[0][1]


def test_a_certificate_of_somebody_else_is_said(tmp_path: Path):
    _, context = certificate(tmp_path, 100)
    (tmp_path / "other").mkdir()
    other, _ = certificate(tmp_path / "other", 100)
    with listening(context) as port:
        tls = Tls(ca_file=str(other))
        found = found_of(Messages(broker="localhost", port=port, user="x", tls=tls))
    assert found[0] == (False, f"localhost port {port}: no trusted line (self-signed certificate)")


def test_nothing_is_changed_by_looking(daemon: Daemon, finds: Finds):
    before = sorted(daemon.folder.iterdir())
    finds()
    assert sorted(daemon.folder.iterdir()) == before


# ---------------------------------------------------------------- the page


class Web(ThreadingHTTPServer):
    """Answers as a program called `name`, under TLS if there is a context."""

    daemon_threads = True

    def __init__(self, name: str, context: ssl.SSLContext | None = None) -> None:
        class Answering(BaseHTTPRequestHandler):
            server_version, sys_version = name, ""

            def do_GET(self) -> None:
                self.send_error(404)

            def log_message(self, format: str, *words: object) -> None:
                pass

            def version_string(self) -> str:
                return name

        self._context = context
        super().__init__(("127.0.0.1", 0), Answering)

    def finish_request(self, request, client_address) -> None:  # type: ignore[no-untyped-def]
        if self._context is None:
            super().finish_request(request, client_address)
            return
        with suppress(OSError), self._context.wrap_socket(request, server_side=True) as secured:
            super().finish_request(secured, client_address)


@contextmanager
def web(name: str, context: ssl.SSLContext | None = None) -> Iterator[int]:
    with Web(name, context) as server:
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        try:
            yield server.server_address[1]
        finally:
            server.shutdown()
            thread.join()


@pytest.mark.parametrize("name", ["another", "hostctl-like"])
def test_another_program_on_the_pages_port_is_not_taken_for_the_page(name: str):
    with web(name) as port:
        ((good, found, mend),) = page_findings(Page(port=port))
    assert not good
    assert found == f"port {port}: another program answers there"
    assert "name another 'page.port' in host.yaml" in mend


@pytest.mark.slow
def test_what_answers_nothing_is_not_taken_for_the_page(tmp_path: Path):
    with socket.create_server(("127.0.0.1", 0)) as silent:
        ((good, _, _),) = page_findings(Page(port=silent.getsockname()[1]))
    assert not good


@pytest.mark.slow
def test_the_page_of_a_running_daemon_is_known(daemon: Daemon, finds: Finds):
    daemon.write_host("bench", page=f"{{port: {kept_port()}}}")
    daemon.start()
    assert "for this computer alone, served now" in finds()["page"]


@pytest.mark.slow
@pytest.mark.parametrize(("days", "good"), [(2, False), (100, True)])
def test_the_pages_certificate_is_looked_at_as_a_phone_is_shown_it(
    tmp_path: Path, days: int, good: bool
):
    made, context = certificate(tmp_path, days)
    (tmp_path / "key").chmod(0o600)
    with web("hostctl", context) as port:
        page = Page(port=port, certificate_file=str(made), key_file=str(tmp_path / "key"))
        reach, (lasts, found, mend) = page_findings(page)
    assert reach[1] == f"port {port}, for this computer alone, served now"
    assert lasts is good
    assert "its certificate lasts until" in found
    assert mend == ("" if good else "Make a new one before that day; phones are refused.")


SERVED = pytest.mark.parametrize("is_served", [True, False])


@pytest.mark.slow
@SERVED
@pytest.mark.parametrize(
    ("listen", "address", "good"),
    [
        ("0.0.0.0", "localhost", True),
        ("0.0.0.0", "192.168.1.20", False),
        ("0.0.0.0", "printers.local", False),
        ("127.0.0.1", None, True),  # no phone comes
    ],
)
def test_the_pages_certificate_has_to_be_for_the_address_phones_come_by(
    tmp_path: Path, is_served: bool, listen: str, address: str | None, good: bool
):
    made, context = certificate(tmp_path, 100)
    (tmp_path / "key").chmod(0o600)
    files = {"certificate_file": str(made), "key_file": str(tmp_path / "key")}
    with web("hostctl", context) as port:
        page = Page(listen=listen, port=port if is_served else kept_port(), **files)
        page = page.model_copy(update={"address": address})
        reach, (is_good, found, mend) = page_findings(page)
    assert ("served now" in reach[1], "not served now" in reach[1]) == (True, not is_served)
    assert is_good is good
    if good:
        assert "its certificate lasts until" in found
    else:
        assert found == f"its certificate is not for {address}"
        assert f"make one for {address}" in mend


def test_a_key_of_the_page_that_others_can_read_is_said(tmp_path: Path):
    made, _ = certificate(tmp_path, 2)
    key = tmp_path / "key"
    key.chmod(0o644)
    ((good, found, _),) = page_findings(Page(certificate_file=str(made), key_file=str(key)))
    assert not good
    assert f"chmod 600 {key}" in found
