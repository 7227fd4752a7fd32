"""The protocol between a device and a server, without a network: pure."""
