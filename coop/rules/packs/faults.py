"""The one error of the strict readers: where, what, and what would be right."""

from types import MappingProxyType
from typing import Final

ENGLISH: Final = MappingProxyType(
    {
        "not-text": "is no text in UTF-8",
        "too-long": "is over {options} bytes, too much to read",
        "not-toml": "is no TOML: {part}",
        "unknown-key": "{part}: there is no such key here; there are: {options}",
        "missing-key": "{part} is missing",
        "wrong-type": "{part}: must be {options}",
        "not-one-of": "{part}: must be one of {options}",
        "not-a-name": "{part}: a name has small letters, digits and hyphens, at most {options}",
        "not-a-fact": "{part}: a fact has small letters, digits and _, at most {options}",
        "text-long": "{part}: a text of 1 to {options} characters",
        "rule-long": "{part}: a rule has at most {options} bytes; make it two",
        "too-many": "{part}: at most {options}",
        "too-deep": "{part}: conditions lie at most {options} deep",
        "twice": "{part} stands here twice",
        "unit": "{part}: this unit does not fit; right would be {options}",
        "no-unit": "{part}: a yes or no has no unit",
        "out-of-range": "{part}: must lie from {options}",
        "decimals": "{part}: at most {options} decimals",
        "backwards": "{part}: must come after {options}",
        "does-not-go-with": "{part} does not go with {options}",
        "needs": "{part} needs {options}",
        "no-mean": "pH is a logarithm and has no mean; span must be {options}",
        "milder": "{part}: must not be milder than {options}",
        "unknown-passes": "{part}: what is not known must not pass; right would be {options}",
        "unknown-fact": "{part}: nothing of that name is known; there are: {options}",
        "evidence": "{part}: does not go with the pack's own evidence, {options}",
        "invented": "invented figures belong into a demo only; for the command, {options}",
        "no-zone": "{part}: a time says its offset from UTC, as {options}",
    }
)
"""Every code of `Refused` with its English text."""


class Refused(ValueError):
    """
    Raised for every file of rules or facts that cannot be taken.

    `code` is a key of `ENGLISH`; `name` the file; `line` counts from 1, 0 for the whole file;
    `part` the key or word in question; `options` what would be right.
    """

    def __init__(
        self,
        code: str,
        *,
        name: str,
        line: int = 0,
        part: str = "",
        options: tuple[str, ...] = (),
    ) -> None:
        super().__init__(code, name, line, part, options)
        self.code = code
        self.name = name
        self.line = line
        self.part = part
        self.options = options

    def __str__(self) -> str:
        said = ENGLISH[self.code].format(part=self.part, options=", ".join(self.options))
        return f"{self.name}, line {self.line}: {said}" if self.line else f"{self.name}: {said}"
