"""In which measures a member is shown amounts, and what bare names of measures mean to them."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "member_measures",
        sa.Column("member", sa.Text(), nullable=False),
        sa.Column("shown", sa.Text(), nullable=False),
        sa.Column("gallon", sa.Text(), nullable=True),
        sa.Column("cup", sa.Text(), nullable=True),
        sa.Column("spoon", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("member", name="pk_member_measures"),
        sa.CheckConstraint("shown IN ('metric', 'us')", name="ck_member_measures_shown"),
        sqlite_strict=True,
    )


def downgrade() -> None:
    op.drop_table("member_measures")
