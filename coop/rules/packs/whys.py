"""Why a rule does not plainly hold or fail: a closed list, worded elsewhere."""

from typing import Final

MISSING: Final = "missing"
STALE: Final = "stale"
FAILED_BEFORE: Final = "failed-before"
NOT_NEEDED: Final = "no-reading-needed"
TOO_NEAR: Final = "too-near"
BOUNDS: Final = "bounds-too-wide"
NOT_FINE_ENOUGH: Final = "method-not-fine-enough"
NOT_CHECKED: Final = "meter-not-checked"
DOUBTED: Final = "reading-doubted"
TOO_FEW: Final = "too-few-readings"
AMOUNT_MISSING: Final = "amount-missing"
NOT_COUNTED: Final = "not-counted"
DILUTED: Final = "diluted"
OVERDUE: Final = "overdue"
NO_START: Final = "no-start-date"
NOT_STARTED: Final = "not-started"
MAY_APPLY: Final = "may-apply"
NO_LOCAL_PACK: Final = "no-local-pack"
DOCUMENT_MISSING: Final = "document-missing"
LOCAL_SILENT: Final = "local-pack-silent"
OTHER_COUNTRY: Final = "other-country"
NO_PERMISSION: Final = "no-permission"
SAID_NO: Final = "they-said-no"
CONDITIONS: Final = "with-conditions"
DRAINS_TO_NATURE: Final = "drains-to-nature"
NOBODY_KNOWS_IT: Final = "nobody-knows-it"
CONTENTS_NOT_SAID: Final = "contents-not-said"
CLOSED_NOT_SAID: Final = "closed-not-said"

TO_READ: Final = frozenset(
    {
        MISSING,
        STALE,
        FAILED_BEFORE,
        TOO_NEAR,
        BOUNDS,
        NOT_FINE_ENOUGH,
        NOT_CHECKED,
        DOUBTED,
        TOO_FEW,
        AMOUNT_MISSING,
    }
)
"""Those that another reading can settle."""
OF_RULES: Final = frozenset({DOCUMENT_MISSING, LOCAL_SILENT, OTHER_COUNTRY})
"""Those that are told of rules as a whole, not by one of their rules."""
WHYS: Final = frozenset(
    {
        "",
        *TO_READ,
        NOT_NEEDED,
        NOT_COUNTED,
        DILUTED,
        OVERDUE,
        NO_START,
        NOT_STARTED,
        MAY_APPLY,
        NO_LOCAL_PACK,
        *OF_RULES,
        NO_PERMISSION,
        SAID_NO,
        CONDITIONS,
        DRAINS_TO_NATURE,
        NOBODY_KNOWS_IT,
        CONTENTS_NOT_SAID,
        CLOSED_NOT_SAID,
    }
)
