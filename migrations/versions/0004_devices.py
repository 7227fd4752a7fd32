"""Phones and tablets: what they said of themselves, what waits for a person, who was here."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
TIME = sa.DateTime(timezone=True).with_variant(sa.Text(), "sqlite")
COUNTS = """
    INSERT INTO arrival (subject, entry_count)
    SELECT subject, COUNT(*) FROM touch WHERE subject LIKE 'on:%' GROUP BY subject
"""
TABLES = ("arrival", "visit", "late_arrival", "waiting_draft", "device_pin", "device")


def upgrade() -> None:
    make_devices()
    make_waiting()
    make_visits()
    make_arrivals()


def make_devices() -> None:
    op.create_table(
        "device",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("token_hash", sa.Text(), nullable=False),
        sa.Column("made_at", TIME, nullable=False),
        sa.Column("agent", sa.Text(), nullable=False),
        sa.Column("heard_at", TIME),
        sa.Column("last_seq", WHOLE, nullable=False),
        sa.Column("unsent", sa.Text(), nullable=False),
        sa.Column("kept_count", WHOLE, nullable=False),
        sa.Column("offline", sa.Integer(), nullable=False),
        sa.Column("stored", sa.Integer(), nullable=False),
        sa.Column("offset_ms", WHOLE, nullable=False),
        sa.Column("release", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_device"),
        sa.UniqueConstraint("token_hash", name="uq_device_token_hash"),
        sqlite_strict=True,
    )
    op.create_table(
        "device_pin",
        sa.Column("device", sa.Text(), nullable=False),
        sa.Column("member", sa.Text(), nullable=False),
        sa.Column("salt", sa.LargeBinary(), nullable=False),
        sa.Column("rounds", sa.Integer(), nullable=False),
        sa.Column("hash", sa.LargeBinary(), nullable=False),
        sa.Column("set_at", TIME, nullable=False),
        sa.PrimaryKeyConstraint("device", "member", name="pk_device_pin"),
        sqlite_strict=True,
    )


def make_waiting() -> None:
    op.create_table(
        "waiting_draft",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("sender", sa.Text(), nullable=False),
        sa.Column("device", sa.Text(), nullable=False),
        sa.Column("device_seq", WHOLE),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("field", sa.Text(), nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("received_at", TIME, nullable=False),
        sa.Column("offset_ms", WHOLE, nullable=False),
        sa.Column("outcome", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", "digest", name="pk_waiting_draft"),
        sa.CheckConstraint(
            "outcome IN ('waiting', 'sealed', 'left_out', 'given_up', 'already')",
            name="ck_waiting_draft_outcome",
        ),
        sqlite_strict=True,
    )
    op.create_index("ix_waiting_draft_sender", "waiting_draft", ["sender"])
    op.create_index("ix_waiting_draft_device", "waiting_draft", ["device"])
    op.create_index("ix_waiting_draft_outcome", "waiting_draft", ["outcome"])


def make_visits() -> None:
    op.create_table(
        "late_arrival",
        sa.Column("entry", sa.Text(), nullable=False),
        sa.Column("bath", sa.Text(), nullable=False),
        sa.Column("entry_count", sa.Integer(), nullable=False),
        sa.Column("before", sa.Text(), nullable=False),
        sa.Column("after", sa.Text(), nullable=False),
        sa.Column("admitted_at", TIME, nullable=False),
        sa.PrimaryKeyConstraint("entry", "bath", name="pk_late_arrival"),
        sqlite_strict=True,
    )
    op.create_index("ix_late_arrival_admitted_at", "late_arrival", ["admitted_at"])
    op.create_table(
        "visit",
        sa.Column("member", sa.Text(), nullable=False),
        sa.Column("seen_at", TIME, nullable=False),
        sa.Column("seen_seq", WHOLE, nullable=False),
        sa.Column("before_at", TIME),
        sa.Column("before_seq", WHOLE),
        sa.PrimaryKeyConstraint("member", name="pk_visit"),
        sqlite_strict=True,
    )


def make_arrivals() -> None:
    op.create_table(
        "arrival",
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("entry_count", WHOLE, nullable=False),
        sa.PrimaryKeyConstraint("subject", name="pk_arrival"),
        sqlite_strict=True,
        sqlite_with_rowid=False,
    )
    op.execute(COUNTS)


def downgrade() -> None:
    for name in TABLES:
        op.drop_table(name)
