"""Pours messages into a broker at a steady rate, from a process of its own.

Run: python flood_source.py PORT A_SECOND SECONDS PACKET… (each in hexadecimal)
"""

import socket
import sys
import time

CONNECT = b"\x10\x11\x00\x04MQTT\x04\x02\x00\x3c\x00\x05flood"  # MQTT 3.1.1, 3.1


def pour(port: int, a_second: int, seconds: float, packets: list[bytes]) -> None:
    with socket.create_connection(("127.0.0.1", port)) as line:
        line.sendall(CONNECT)
        line.recv(4)
        begun, poured = time.monotonic(), 0
        while poured < a_second * seconds:
            line.sendall(b"".join(packets[(poured + i) % len(packets)] for i in range(100)))
            poured += 100
            time.sleep(max(0.0, begun + poured / a_second - time.monotonic()))


if __name__ == "__main__":
    port, a_second, seconds, *packets = sys.argv[1:]
    pour(int(port), int(a_second), float(seconds), [bytes.fromhex(one) for one in packets])
