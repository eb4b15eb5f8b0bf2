"""The line dies between a typed reading and the proof of the head's place."""

from pathlib import Path

import pytest
from daemon_process import SMALL, Daemon
from simulated_printer import at_screen, printer_at

from hostctl.store.reading import read_record


@pytest.mark.slow
def test_a_typed_reading_whose_place_could_not_be_proved_is_kept_void(
    daemon: Daemon, tmp_path: Path
):
    with printer_at(tmp_path) as (port, hands):
        daemon.write_machine("bench", str(port))
        study = SMALL.replace("TRIALS", "2").replace("countdown_s: 0", "countdown_s: 1")
        (daemon.folder / "studies" / "small.yaml").write_text(study)
        daemon.start()
        daemon.start_run("bench", study="small")
        daemon.answer_all("bench", readings=1, text="0.01")
        prompt = reading_asked_for(daemon)
        at_screen(hands, "pull_cable_at", "M114")
        daemon.ask("answer", machine="bench", text="0.04", prompt_id=prompt["prompt_id"])
        held = daemon.until("bench", lambda found: found["standing"] == "holding")
    record = read_record(daemon.database, 1)
    typed = [one for one in record.readings if one.kept.reading.value_mm == 0.04]
    assert len(typed) == 1
    assert typed[0].void is not None
    assert typed[0].void.startswith("typed, but its place and heat could not be proved: ")
    assert "0.04 mm was typed" in str(held["hold"])


def reading_asked_for(daemon: Daemon) -> dict[str, object]:
    """Answer what comes before the next reading; gives its prompt."""
    while True:
        prompt = daemon.until("bench", lambda found: found["prompt"])["prompt"]
        assert isinstance(prompt, dict)
        if prompt["kind"] == "read":
            return prompt
        daemon.ask("answer", machine="bench", text="done", prompt_id=prompt["prompt_id"])
        daemon.until("bench", lambda found, asked=prompt: found["prompt"] != asked)
