"""Where floc that was strained off goes: into a waste jar, or into the bin once it is dry."""

from urllib.parse import urlencode

from flask import url_for

from coop.actions.see_waste import FLOC, floc_left
from coop.actions.sites import Site
from coop.ids import Subject
from coop.ledger.states import JarState
from coop.web.page import desk, words

JARS_MAX = 3
"""So many jars are offered."""


def floc_ways(here: Site, source: str) -> tuple[tuple[str, str], ...]:
    """Return where floc of a bath or jar may go, as text and address; none once it went."""
    if Subject(source) not in floc_left(desk().journal, here):
        return ()
    studio = here.studio.id
    jars: tuple[JarState, ...] = desk().journal.listed("jar", home=studio)
    ways = [
        (
            words().gettext("Into %(jar)s", jar=one.name),
            url_for("jars.add", jar=one.id, waste=FLOC),
        )
        for one in jars
        if FLOC in one.wastes and one.id != source
    ][:JARS_MAX]
    if not ways:
        ways.append((words().gettext("Into a new jar"), url_for("jars.new", studio=studio)))
    into_bin = urlencode({"studio": studio, "waste": FLOC, "outlet": "bin"})
    ways.append((words().gettext("Into the bin, once it is dry"), f"/drain/other?{into_bin}"))
    return tuple(ways)
