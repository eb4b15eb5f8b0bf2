"""A mosquitto set up by the shipped files: passwords, TLS, an access list by machine."""

import shutil
import ssl
import subprocess
from pathlib import Path
from typing import Any

from kept_port import kept_port
from real_broker import RealBroker

from hostctl.config.find import SHIPPED
from hostctl.config.host import Messages

BY = {"daemon_passwords": ("hostctl", "phone"), "passwords": ("phone", "display", "stranger")}
"""Who comes in by which way. `phone` by the daemon's too, for a daemon that may little."""


class ShippedBroker:
    """Set up as the file says, but for the folder and the ports; its last way in taken too."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        shutil.copytree(SHIPPED / "broker", folder, dirs_exist_ok=True)
        subprocess.run(["sh", "make_certificates.sh", "printers.local"], cwd=folder, check=True)
        passwd = shutil.which("mosquitto_passwd")
        assert passwd
        for file, users in BY.items():
            (folder / file).touch(mode=0o600)
            for user in users:
                subprocess.run(
                    [passwd, "-b", file, user, f"secret of {user}"], cwd=folder, check=True
                )
        (folder / "access_list").chmod(0o600)
        self.tls_port, self.afar_port = kept_port(), kept_port()
        self.broker = RealBroker(folder.parent, self._settings())

    def _settings(self) -> str:
        shipped = (self.folder / "mosquitto.conf").read_text()
        rules, afar = shipped.split("# A daemon on another computer: take the marks away.\n")
        return (
            (rules + afar.replace("# ", ""))
            .replace("/etc/mosquitto/hostctl", str(self.folder))
            .replace("/var/lib/mosquitto/", f"{self.folder}/")
            .replace("listener 1883", "listener PORT")
            .replace("listener 8883", f"listener {self.tls_port} 127.0.0.1")
            .replace("listener 8884", f"listener {self.afar_port} 127.0.0.1")
            .replace("persistence true", "")
            .replace("set_tcp_nodelay true", "")
        )

    def way(self, user: str) -> dict[str, Any]:
        """How this user comes in, as a phone does; hostctl by the daemon's way."""
        more: dict[str, Any] = {"username": user, "password": f"secret of {user}"}
        if user == "hostctl":
            return {"port": self.broker.port, **more}
        return {"port": self.tls_port, "tls_context": self.tls(), **more}

    def settings(self, **more: object) -> Messages:
        password = self.folder / "daemon_password"
        password.write_text("secret of hostctl\n")
        password.chmod(0o600)
        given = {
            "broker": "localhost",
            "port": self.broker.port,
            "user": "hostctl",
            "password_file": str(password),
        }
        return Messages.model_validate({**given, **more})

    def tls(self) -> ssl.SSLContext:
        return ssl.create_default_context(cafile=str(self.folder / "ca.crt"))
