"""The daemon: several machines, their channels and a local socket in one asyncio process."""
