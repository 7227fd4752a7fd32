"""When what was moved was moved, and for which session; folds are worked out anew."""

from typing import Any

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
TIME = sa.DateTime(timezone=True).with_variant(sa.Text(), "sqlite")
# Sign by sign, whatever the server's language: accounts are looked up by how they begin.
ACCOUNT = sa.Text().with_variant(postgresql.TEXT(collation="C"), "postgresql")
EVERY_FOLD_ANEW = (
    "DELETE FROM balance",
    "UPDATE fold SET stale = 1",
)


def columns(account: Any) -> list[sa.Column[Any]]:
    return [
        sa.Column("owner", sa.Text(), nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("entry", sa.Text(), nullable=False),
        sa.Column("substance", sa.Text(), nullable=False),
        sa.Column("from_account", account, nullable=False),
        sa.Column("to_account", account, nullable=False),
        sa.Column("amount", WHOLE, nullable=False),
        sa.Column("doubt", WHOLE, nullable=False),
        sa.Column("week", sa.Text(), nullable=False),
    ]


def make_moves(
    account: Any, more: list[sa.Column[Any]], ends: tuple[tuple[str, ...], ...]
) -> None:
    """Make the table anew, empty: its rows are worked out of the journal."""
    op.drop_table("move")
    op.create_table(
        "move",
        *columns(account),
        *more,
        sa.PrimaryKeyConstraint("owner", "n", name="pk_move"),
        sqlite_strict=True,
    )
    for names in (*ends, ("substance", "week")):
        op.create_index(f"ix_move_{'_'.join(names)}", "move", list(names))
    for statement in EVERY_FOLD_ANEW:
        op.execute(statement)


def account_of_balance(collation: str) -> None:
    if op.get_bind().dialect.name == "postgresql":
        op.execute(f"ALTER TABLE balance ALTER COLUMN account TYPE text COLLATE {collation}")


def upgrade() -> None:
    more: list[sa.Column[Any]] = [
        sa.Column("at", TIME, nullable=False),
        sa.Column("session", sa.Text(), nullable=False),
    ]
    make_moves(ACCOUNT, more, (("from_account", "at"), ("to_account", "at")))
    account_of_balance('"C"')


def downgrade() -> None:
    make_moves(sa.Text(), [], (("from_account",), ("to_account",)))
    account_of_balance('"default"')
