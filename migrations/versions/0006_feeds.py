"""Calendars by a secret address, and mails that tell a member what needs them."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

TIME = sa.DateTime(timezone=True).with_variant(sa.Text(), "sqlite")
TABLES = ("mail", "digest_choice", "calendar_event", "calendar_feed")


def upgrade() -> None:
    make_calendars()
    make_mails()


def make_calendars() -> None:
    op.create_table(
        "calendar_feed",
        sa.Column("member", sa.Text(), nullable=False),
        sa.Column("token_hash", sa.Text(), nullable=False),
        sa.Column("lang", sa.Text(), nullable=False),
        sa.Column("made_at", TIME, nullable=False),
        sa.PrimaryKeyConstraint("member", name="pk_calendar_feed"),
        sa.UniqueConstraint("token_hash", name="uq_calendar_feed_token_hash"),
        sqlite_strict=True,
    )
    op.create_table(
        "calendar_event",
        sa.Column("member", sa.Text(), nullable=False),
        sa.Column("uid", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("changed_at", TIME, nullable=False),
        sa.PrimaryKeyConstraint("member", "uid", name="pk_calendar_event"),
        sqlite_strict=True,
    )


def make_mails() -> None:
    op.create_table(
        "digest_choice",
        sa.Column("member", sa.Text(), nullable=False),
        sa.Column("lang", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("member", name="pk_digest_choice"),
        sqlite_strict=True,
    )
    op.create_table(
        "mail",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("member", sa.Text(), nullable=False),
        sa.Column("day", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("written_at", TIME, nullable=False),
        sa.Column("try_count", sa.Integer(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("claimed_at", TIME, nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_mail"),
        sa.CheckConstraint("state IN ('waiting', 'sent', 'given_up')", name="ck_mail_state"),
        sqlite_strict=True,
    )
    op.create_index("ix_mail_state", "mail", ["state"])
    op.create_index("ix_mail_member_day", "mail", ["member", "day"], unique=True)


def downgrade() -> None:
    for name in TABLES:
        op.drop_table(name)
