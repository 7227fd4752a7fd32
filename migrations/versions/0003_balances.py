"""What each account holds, kept beside the rows it is the sum of."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
SUMS = """
    INSERT INTO balance (account, substance, amount)
    SELECT account, substance, SUM(amount) FROM (
        SELECT to_account AS account, substance, amount FROM move
        UNION ALL
        SELECT from_account, substance, -amount FROM move
    ) AS ends GROUP BY account, substance
"""


def upgrade() -> None:
    op.create_table(
        "balance",
        sa.Column("account", sa.Text(), nullable=False),
        sa.Column("substance", sa.Text(), nullable=False),
        sa.Column("amount", WHOLE, nullable=False),
        sa.PrimaryKeyConstraint("account", "substance", name="pk_balance"),
        sqlite_strict=True,
        sqlite_with_rowid=False,
    )
    op.execute(SUMS)


def downgrade() -> None:
    op.drop_table("balance")
