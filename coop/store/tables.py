"""
The tables, in three sorts.

Journal: what was said and how it was taken in; added to, never changed, never deleted.
Caches: worked out from the journal; may be emptied and rebuilt at will.
Settings: what the server itself must remember; in the backup, never in the journal.
"""

from datetime import UTC, datetime

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    DateTime,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    text,
)
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator, TypeEngine

NAMES = {
    "pk": "pk_%(table_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
}

metadata = MetaData(naming_convention=NAMES)

# SQLite's INTEGER holds 64 bits; PostgreSQL needs BIGINT for that.
Whole = BigInteger().with_variant(Integer(), "sqlite")


class UtcTime(TypeDecorator[datetime]):
    """
    A moment: refuses one without zone, stores UTC, gives back aware UTC.

    On SQLite it is text of one width, so that comparing texts compares moments.
    """

    impl = Text
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[str] | TypeEngine[datetime]:
        if dialect.name == "sqlite":
            return dialect.type_descriptor(Text())
        return dialect.type_descriptor(DateTime(timezone=True))

    def process_bind_param(
        self, value: datetime | None, dialect: Dialect
    ) -> str | datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"{value.isoformat()}: a time needs its zone")
        utc = value.astimezone(UTC)
        return utc.isoformat(timespec="microseconds") if dialect.name == "sqlite" else utc

    def process_result_value(
        self, value: str | datetime | None, dialect: Dialect
    ) -> datetime | None:
        moment = datetime.fromisoformat(value) if isinstance(value, str) else value
        return moment and moment.astimezone(UTC)


# --- journal -------------------------------------------------------------------------

entry = Table(
    "entry",
    metadata,
    Column("digest", Text, primary_key=True),
    Column("id", Text, nullable=False, index=True),
    Column("bytes", LargeBinary, nullable=False),
    sqlite_strict=True,
)

seal = Table(
    "seal",
    metadata,
    Column("digest", Text, primary_key=True),
    Column("entry", Text, nullable=False, index=True),
    Column("node", Text, nullable=False),
    Column("seq", Whole, nullable=False),
    Column("bytes", LargeBinary, nullable=False),
    Index(None, "node", "seq"),
    sqlite_strict=True,
)

attachment = Table(
    "attachment",
    metadata,
    Column("name", Text, primary_key=True),
    Column("content_type", Text, nullable=False),
    Column("reach", Text, nullable=False),
    CheckConstraint("reach IN ('personal', 'public')", name="reach"),
    sqlite_strict=True,
)

JOURNAL = (entry, seal, attachment)

# Beside the journal, not guarded: erasing a personal attachment deletes its row here.
attachment_bytes = Table(
    "attachment_bytes",
    metadata,
    Column("name", Text, ForeignKey("attachment.name"), primary_key=True),
    Column("salt", LargeBinary, nullable=False),
    Column("bytes", LargeBinary, nullable=False),
    sqlite_strict=True,
)

# --- caches --------------------------------------------------------------------------

touch = Table(
    "touch",
    metadata,
    Column("subject", Text, primary_key=True),
    Column("entry", Text, primary_key=True, index=True),
    sqlite_strict=True,
    sqlite_with_rowid=False,
)

fold = Table(
    "fold",
    metadata,
    Column("subject", Text, primary_key=True),
    Column("sort", Text, nullable=False),
    Column("home", Text),
    Column("live", Integer, nullable=False),
    Column("place", Whole),
    Column("state", LargeBinary),
    Column("fold_version", Integer, nullable=False),
    Column("stale", Integer, nullable=False),
    Index(None, "sort", "live", "home"),
    Index(
        "ix_fold_stale",
        "subject",
        sqlite_where=text("stale = 1"),
        postgresql_where=text("stale = 1"),
    ),
    sqlite_strict=True,
)

fold_input = Table(
    "fold_input",
    metadata,
    Column("subject", Text, primary_key=True),
    Column("input", Text, primary_key=True, index=True),
    sqlite_strict=True,
    sqlite_with_rowid=False,
)

# Amount and doubt in whole micrograms, microlitres, quarters of a parent sheet, or pieces.
# PostgreSQL puts accounts in order sign by sign (collation "C"), whatever the server's
# language: they are looked up by how their name begins.
move = Table(
    "move",
    metadata,
    Column("owner", Text, primary_key=True),
    Column("n", Integer, primary_key=True),
    Column("entry", Text, nullable=False),
    Column("substance", Text, nullable=False),
    Column("from_account", Text, nullable=False),
    Column("to_account", Text, nullable=False),
    Column("amount", Whole, nullable=False),
    Column("doubt", Whole, nullable=False),
    Column("week", Text, nullable=False),
    Column("at", UtcTime, nullable=False),
    Column("session", Text, nullable=False),
    Index(None, "from_account", "at"),
    Index(None, "to_account", "at"),
    Index(None, "substance", "week"),
    sqlite_strict=True,
)

# What the rows of `move` come to, so that no page sums a whole history.
balance = Table(
    "balance",
    metadata,
    Column("account", Text, primary_key=True),
    Column("substance", Text, primary_key=True),
    Column("amount", Whole, nullable=False),
    sqlite_strict=True,
    sqlite_with_rowid=False,
)

finding = Table(
    "finding",
    metadata,
    Column("owner", Text, primary_key=True),
    Column("n", Integer, primary_key=True),
    Column("code", Text, nullable=False, index=True),
    Column("entry", Text),
    Column("detail", Text, nullable=False),
    sqlite_strict=True,
)

# How many rows of `touch` each device's subject has, so that no page counts a whole history.
arrival = Table(
    "arrival",
    metadata,
    Column("subject", Text, primary_key=True),
    Column("entry_count", Whole, nullable=False),
    sqlite_strict=True,
    sqlite_with_rowid=False,
)

CACHES = (touch, fold, fold_input, move, balance, finding, arrival)

# --- settings ------------------------------------------------------------------------

setting = Table(
    "setting",
    metadata,
    Column("key", Text, primary_key=True),
    Column("value", Text, nullable=False),
    sqlite_strict=True,
)

member_secret = Table(
    "member_secret",
    metadata,
    Column("member", Text, primary_key=True),
    Column("sign_in_name", Text, nullable=False, unique=True),
    Column("mail", Text),
    Column("password_hash", Text, nullable=False),
    Column("changed_at", UtcTime, nullable=False),
    sqlite_strict=True,
)

session = Table(
    "session",
    metadata,
    Column("id_hash", Text, primary_key=True),
    Column("member", Text, nullable=False, index=True),
    Column("created_at", UtcTime, nullable=False),
    Column("last_seen_at", UtcTime, nullable=False),
    Column("ends_at", UtcTime, nullable=False, index=True),
    Column("agent", Text, nullable=False),
    sqlite_strict=True,
)

invite = Table(
    "invite",
    metadata,
    Column("token_hash", Text, primary_key=True),
    Column("purpose", Text, nullable=False),
    Column("entry", Text),
    Column("made_by", Text),
    Column("expires_at", UtcTime, nullable=False),
    Column("used_at", UtcTime),
    CheckConstraint("purpose IN ('first', 'member')", name="purpose"),
    sqlite_strict=True,
)

throttle = Table(
    "throttle",
    metadata,
    Column("key", Text, primary_key=True),
    Column("window_start", UtcTime, primary_key=True, index=True),
    Column("count", Integer, nullable=False),
    sqlite_strict=True,
)

# A phone or tablet: its secret, and what it last said of itself.
device = Table(
    "device",
    metadata,
    Column("id", Text, primary_key=True),
    Column("token_hash", Text, nullable=False, unique=True),
    Column("made_at", UtcTime, nullable=False),
    Column("agent", Text, nullable=False),
    Column("heard_at", UtcTime),
    Column("last_seq", Whole, nullable=False),
    Column("unsent", Text, nullable=False),
    Column("kept_count", Whole, nullable=False),
    Column("offline", Integer, nullable=False),
    Column("stored", Integer, nullable=False),
    Column("offset_ms", Whole, nullable=False),
    Column("release", Text, nullable=False),
    sqlite_strict=True,
)

# Four digits by which members of a shared tablet are told apart; against mistakes, not thieves.
device_pin = Table(
    "device_pin",
    metadata,
    Column("device", Text, primary_key=True),
    Column("member", Text, primary_key=True),
    Column("salt", LargeBinary, nullable=False),
    Column("rounds", Integer, nullable=False),
    Column("hash", LargeBinary, nullable=False),
    Column("set_at", UtcTime, nullable=False),
    sqlite_strict=True,
)

# What devices sent and no table let through, with what a person made of it.
waiting_draft = Table(
    "waiting_draft",
    metadata,
    Column("id", Text, primary_key=True),
    Column("digest", Text, primary_key=True),
    Column("sender", Text, nullable=False, index=True),
    Column("device", Text, nullable=False, index=True),
    Column("device_seq", Whole),
    Column("text", Text, nullable=False),
    Column("field", Text, nullable=False),
    Column("code", Text, nullable=False),
    Column("received_at", UtcTime, nullable=False),
    Column("offset_ms", Whole, nullable=False),
    Column("outcome", Text, nullable=False, index=True),
    CheckConstraint(
        "outcome IN ('waiting', 'sealed', 'left_out', 'given_up', 'already')", name="outcome"
    ),
    sqlite_strict=True,
)

late_arrival = Table(
    "late_arrival",
    metadata,
    Column("entry", Text, primary_key=True),
    Column("bath", Text, primary_key=True),
    Column("entry_count", Integer, nullable=False),
    Column("before", Text, nullable=False),
    Column("after", Text, nullable=False),
    Column("admitted_at", UtcTime, nullable=False, index=True),
    sqlite_strict=True,
)

# When a member was here, and when before that; how far this node's chain reached then.
visit = Table(
    "visit",
    metadata,
    Column("member", Text, primary_key=True),
    Column("seen_at", UtcTime, nullable=False),
    Column("seen_seq", Whole, nullable=False),
    Column("before_at", UtcTime),
    Column("before_seq", Whole),
    sqlite_strict=True,
)

# The secret address of a member's calendar, as its hash; events speak the language it was
# made in.
calendar_feed = Table(
    "calendar_feed",
    metadata,
    Column("member", Text, primary_key=True),
    Column("token_hash", Text, nullable=False, unique=True),
    Column("lang", Text, nullable=False),
    Column("made_at", UtcTime, nullable=False),
    sqlite_strict=True,
)

# What a member's calendar was last told of an event, and how often that has changed.
calendar_event = Table(
    "calendar_event",
    metadata,
    Column("member", Text, primary_key=True),
    Column("uid", Text, primary_key=True),
    Column("digest", Text, nullable=False),
    Column("sequence", Integer, nullable=False),
    Column("changed_at", UtcTime, nullable=False),
    sqlite_strict=True,
)

# Who wants a mail when something needs them, and in which language.
digest_choice = Table(
    "digest_choice",
    metadata,
    Column("member", Text, primary_key=True),
    Column("lang", Text, nullable=False),
    sqlite_strict=True,
)

# In which measures a member is shown amounts, and which gallon, cup and spoon a bare one is.
member_measures = Table(
    "member_measures",
    metadata,
    Column("member", Text, primary_key=True),
    Column("shown", Text, nullable=False),
    Column("gallon", Text),
    Column("cup", Text),
    Column("spoon", Text),
    CheckConstraint("shown IN ('metric', 'us')", name="shown"),
    sqlite_strict=True,
)

# Mails to members: at most one a day each; what was not sent yet is tried again.
mail = Table(
    "mail",
    metadata,
    Column("id", Text, primary_key=True),
    Column("member", Text, nullable=False),
    Column("day", Text, nullable=False),
    Column("subject", Text, nullable=False),
    Column("body", Text, nullable=False),
    Column("written_at", UtcTime, nullable=False),
    Column("try_count", Integer, nullable=False),
    Column("state", Text, nullable=False, index=True),
    Column("claimed_at", UtcTime),
    Index(None, "member", "day", unique=True),
    CheckConstraint("state IN ('waiting', 'sent', 'given_up')", name="state"),
    sqlite_strict=True,
)

SETTINGS = (
    setting,
    member_secret,
    session,
    invite,
    throttle,
    device,
    device_pin,
    waiting_draft,
    late_arrival,
    visit,
    calendar_feed,
    calendar_event,
    digest_choice,
    member_measures,
    mail,
)
