"""
The journal: entry, seal, attachment. Made once and never altered: a new need is a new table.

The database itself refuses UPDATE and DELETE (and TRUNCATE on PostgreSQL).
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

JOURNAL = ("entry", "seal", "attachment")


def upgrade() -> None:
    make_tables()
    if op.get_bind().dialect.name == "sqlite":
        guard_sqlite()
    else:
        guard_postgresql()


def make_tables() -> None:
    whole = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
    op.create_table(
        "entry",
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("bytes", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("digest", name="pk_entry"),
        sqlite_strict=True,
    )
    op.create_index("ix_entry_id", "entry", ["id"])
    op.create_table(
        "seal",
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("entry", sa.Text(), nullable=False),
        sa.Column("node", sa.Text(), nullable=False),
        sa.Column("seq", whole, nullable=False),
        sa.Column("bytes", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("digest", name="pk_seal"),
        sqlite_strict=True,
    )
    op.create_index("ix_seal_entry", "seal", ["entry"])
    op.create_index("ix_seal_node_seq", "seal", ["node", "seq"])
    op.create_table(
        "attachment",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("content_type", sa.Text(), nullable=False),
        sa.Column("reach", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_attachment"),
        sa.CheckConstraint("reach IN ('personal', 'public')", name="ck_attachment_reach"),
        sqlite_strict=True,
    )


def guard_sqlite() -> None:
    for table in JOURNAL:
        for act in ("update", "delete"):
            op.execute(
                f"CREATE TRIGGER guard_{table}_{act} BEFORE {act.upper()} ON {table} BEGIN "
                f"SELECT RAISE(ABORT, 'the journal is never changed: {table} refuses "
                f"{act.upper()}; write a correction'); END"
            )


def guard_postgresql() -> None:
    op.execute(
        "CREATE FUNCTION guard_journal() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        "RAISE EXCEPTION 'the journal is never changed: % refuses %; write a correction', "
        "TG_TABLE_NAME, TG_OP; END $$"
    )
    for table in JOURNAL:
        for act, each in (("update", "ROW"), ("delete", "ROW"), ("truncate", "STATEMENT")):
            op.execute(
                f"CREATE TRIGGER guard_{table}_{act} BEFORE {act.upper()} ON {table} "
                f"FOR EACH {each} EXECUTE FUNCTION guard_journal()"
            )


def downgrade() -> None:
    bind = op.get_bind()
    for table in JOURNAL:
        if bind.execute(sa.select(sa.literal(1)).select_from(sa.table(table)).limit(1)).first():
            raise RuntimeError(f"downgrade refused: {table} holds what people wrote")
    for table in reversed(JOURNAL):
        op.drop_table(table)
    if bind.dialect.name == "postgresql":
        op.execute("DROP FUNCTION guard_journal()")
