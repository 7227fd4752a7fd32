"""Caches that are rebuilt at will, settings that only this server needs."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
TIME = sa.DateTime(timezone=True).with_variant(sa.Text(), "sqlite")


def upgrade() -> None:
    make_attachment_bytes()
    make_folds()
    make_rows_of_folds()
    make_members()
    make_doors()


def make_attachment_bytes() -> None:
    op.create_table(
        "attachment_bytes",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("salt", sa.LargeBinary(), nullable=False),
        sa.Column("bytes", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_attachment_bytes"),
        sa.ForeignKeyConstraint(
            ["name"], ["attachment.name"], name="fk_attachment_bytes_name_attachment"
        ),
        sqlite_strict=True,
    )


def make_folds() -> None:
    op.create_table(
        "fold",
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("sort", sa.Text(), nullable=False),
        sa.Column("home", sa.Text()),
        sa.Column("live", sa.Integer(), nullable=False),
        sa.Column("place", WHOLE),
        sa.Column("state", sa.LargeBinary()),
        sa.Column("fold_version", sa.Integer(), nullable=False),
        sa.Column("stale", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("subject", name="pk_fold"),
        sqlite_strict=True,
    )
    op.create_index("ix_fold_sort_live_home", "fold", ["sort", "live", "home"])
    stale = sa.text("stale = 1")
    op.create_index(
        "ix_fold_stale", "fold", ["subject"], sqlite_where=stale, postgresql_where=stale
    )
    for table, other in (("touch", "entry"), ("fold_input", "input")):
        op.create_table(
            table,
            sa.Column("subject", sa.Text(), nullable=False),
            sa.Column(other, sa.Text(), nullable=False),
            sa.PrimaryKeyConstraint("subject", other, name=f"pk_{table}"),
            sqlite_strict=True,
            sqlite_with_rowid=False,
        )
        op.create_index(f"ix_{table}_{other}", table, [other])


def make_rows_of_folds() -> None:
    op.create_table(
        "move",
        sa.Column("owner", sa.Text(), nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("entry", sa.Text(), nullable=False),
        sa.Column("substance", sa.Text(), nullable=False),
        sa.Column("from_account", sa.Text(), nullable=False),
        sa.Column("to_account", sa.Text(), nullable=False),
        sa.Column("amount", WHOLE, nullable=False),
        sa.Column("doubt", WHOLE, nullable=False),
        sa.Column("week", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("owner", "n", name="pk_move"),
        sqlite_strict=True,
    )
    op.create_index("ix_move_from_account", "move", ["from_account"])
    op.create_index("ix_move_to_account", "move", ["to_account"])
    op.create_index("ix_move_substance_week", "move", ["substance", "week"])
    op.create_table(
        "finding",
        sa.Column("owner", sa.Text(), nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("entry", sa.Text()),
        sa.Column("detail", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("owner", "n", name="pk_finding"),
        sqlite_strict=True,
    )
    op.create_index("ix_finding_code", "finding", ["code"])


def make_members() -> None:
    op.create_table(
        "setting",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_setting"),
        sqlite_strict=True,
    )
    op.create_table(
        "member_secret",
        sa.Column("member", sa.Text(), nullable=False),
        sa.Column("sign_in_name", sa.Text(), nullable=False),
        sa.Column("mail", sa.Text()),
        sa.Column("password_hash", sa.Text(), nullable=False),
        sa.Column("changed_at", TIME, nullable=False),
        sa.PrimaryKeyConstraint("member", name="pk_member_secret"),
        sa.UniqueConstraint("sign_in_name", name="uq_member_secret_sign_in_name"),
        sqlite_strict=True,
    )


def make_doors() -> None:
    op.create_table(
        "session",
        sa.Column("id_hash", sa.Text(), nullable=False),
        sa.Column("member", sa.Text(), nullable=False),
        sa.Column("created_at", TIME, nullable=False),
        sa.Column("last_seen_at", TIME, nullable=False),
        sa.Column("ends_at", TIME, nullable=False),
        sa.Column("agent", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id_hash", name="pk_session"),
        sqlite_strict=True,
    )
    op.create_index("ix_session_member", "session", ["member"])
    op.create_index("ix_session_ends_at", "session", ["ends_at"])
    op.create_table(
        "invite",
        sa.Column("token_hash", sa.Text(), nullable=False),
        sa.Column("purpose", sa.Text(), nullable=False),
        sa.Column("entry", sa.Text()),
        sa.Column("made_by", sa.Text()),
        sa.Column("expires_at", TIME, nullable=False),
        sa.Column("used_at", TIME),
        sa.PrimaryKeyConstraint("token_hash", name="pk_invite"),
        sa.CheckConstraint("purpose IN ('first', 'member')", name="ck_invite_purpose"),
        sqlite_strict=True,
    )
    op.create_table(
        "throttle",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("window_start", TIME, nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("key", "window_start", name="pk_throttle"),
        sqlite_strict=True,
    )
    op.create_index("ix_throttle_window_start", "throttle", ["window_start"])


def downgrade() -> None:
    kept = sa.select(sa.literal(1)).select_from(sa.table("attachment_bytes")).limit(1)
    if op.get_bind().execute(kept).first():
        raise RuntimeError("downgrade refused: attachment_bytes holds what people wrote")
    for table in (
        "throttle",
        "invite",
        "session",
        "member_secret",
        "setting",
        "finding",
        "move",
        "fold_input",
        "touch",
        "fold",
        "attachment_bytes",
    ):
        op.drop_table(table)
