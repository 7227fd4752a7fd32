"""Every limit of what a device sends at once, and of how long it may have kept it."""

from datetime import timedelta

PUSH_BYTES_MAX = 1024 * 1024
DRAFTS_MAX = 200
OUTBOX_BYTES_MAX = 12 * 1024  # an entry of 8 KiB, its note, and what stands around them
HELD_MAX = 5_000  # texts of one sender's that nobody settled: 60 MB at most
UNSENT_MAX = 5_000
KEPT_MAX = 500
ASKED_MAX = 200
NODES_MAX = 20
RELEASE_LENGTH_MAX = 40
WHOLE_MAX = 2**53 - 1

RESCUE_BYTES_MAX = 2 * 1024 * 1024
RESCUE_LINES_MAX = 2_000

WAITED_MAX = timedelta(days=30)  # longer, a device's own word for when it wrote is not taken
