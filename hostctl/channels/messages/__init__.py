"""Messages (MQTT): what the machine does goes out, answers and commands come in."""
