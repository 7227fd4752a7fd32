"""
The marbled strip each bath carries, drawn from its id.

Colour drops and tools move the floating colours as in mathematical marbling: Lu, Jaffer, Jin,
Zhao and Mao, "Mathematical Marbling", IEEE Computer Graphics and Applications 32 (6), 2012
(title and place from memory). A drop of radius r at C pushes a point P to
C + (P - C) sqrt(1 + r^2 / |P - C|^2), which keeps every area; a tine line shifts points along
itself by z exp(-d / lambda); a vortex turns them by A exp(-(d / R)^2).
"""

import math
from collections.abc import Callable, Sequence
from hashlib import sha256
from itertools import pairwise
from typing import TypeAlias, TypeVar
from zlib import compress

STRIP_EDITION = 1
WIDTH = 100.0
HEIGHT = 300.0
RING_POINTS = 48
DROPS_MIN = 12
DROPS_MAX = 16
CLIP_MARGIN = 1.5
EDGE_MAX = 2.0
TOLERANCES = (0.14, 0.2, 0.3, 0.45, 0.7, 1.0, 1.5, 2.5)
COMPRESSED_BYTES_MAX = 3_900

Point: TypeAlias = tuple[float, float]
Ring: TypeAlias = list[Point]
Tool: TypeAlias = Callable[[Point], Point]
T = TypeVar("T")

# Ground first. Ours; every palette goes from light to dark, so that it reads without its hues.
PALETTES: tuple[tuple[str, ...], ...] = (
    ("#efe4cc", "#20364f", "#b4512e", "#d9b15f", "#8aa6a3"),
    ("#24343b", "#d8c59a", "#8c3b2e", "#f2ead6", "#5f8f86"),
    ("#f3ead9", "#6c2335", "#d98f70", "#2f3b52", "#e8c9a0"),
    ("#dfe4dc", "#27463c", "#87a878", "#f6f1e1", "#c99a2e"),
    ("#ece6dc", "#3c3a5a", "#9b8fc0", "#c8643f", "#f7f3ea"),
    ("#2c2a33", "#c9a24a", "#e9dcc3", "#7d4a5b", "#6e86a8"),
    ("#f0dfc6", "#7a4a25", "#2d2420", "#c98a45", "#f9f3e6"),
    ("#d9e3e8", "#1f4a63", "#f4f0e4", "#6f9db3", "#a63d33"),
    ("#eadfd6", "#4a5d3a", "#b3456b", "#f5efe6", "#23282b"),
    ("#f4eedd", "#23262b", "#9aa0a0", "#d65f3b"),
)


class _Digits:
    """Numbers drawn from SHA-256 of a text and a counter; the same on every machine."""

    def __init__(self, seed: str) -> None:
        self.seed = seed
        self.count = 0

    def unit(self) -> float:
        """Return the next number, from 0 up to 1."""
        digest = sha256(f"{self.seed}/{self.count}".encode()).digest()
        self.count += 1
        return int.from_bytes(digest[:6], "big") / 2**48

    def between(self, low: float, high: float) -> float:
        """Return the next number, from low up to high."""
        return low + (high - low) * self.unit()

    def whole(self, low: int, high: int) -> int:
        """Return the next whole number, low and high included."""
        return low + int(self.unit() * (high - low + 1))

    def one_of(self, choices: Sequence[T]) -> T:
        """Return one of the choices."""
        return choices[self.whole(0, len(choices) - 1)]

    def sign(self) -> int:
        """Return -1 or 1."""
        return self.one_of((-1, 1))


def strip_svg(seed_id: str, *, lying: bool = False) -> str:
    """
    Return the marbled strip of an id as an SVG document, three times as tall as wide.

    It is drawn as finely as fits into COMPRESSED_BYTES_MAX.

    Args:
        seed_id: Any text; the same text gives the same picture for ever.
        lying: Turn the same strip on its side, for a page heading.
    """
    digits = _Digits(seed_id)
    palette = digits.one_of(PALETTES)
    places = _places(digits)
    rings = _drops(digits, places)
    colours = [
        palette[1 + (number // len(places) + number % len(places)) % (len(palette) - 1)]
        for number in range(len(rings))
    ]
    for tool in digits.one_of(_PATTERNS)(digits):
        rings = [[tool(point) for point in _refined(ring)] for ring in rings]
    rings = [_clipped(_refined(ring)) for ring in rings]
    drawings = (_drawing(palette[0], colours, rings, fine, lying) for fine in TOLERANCES)
    return next(svg for svg in drawings if len(compress(svg.encode())) < COMPRESSED_BYTES_MAX)


def _places(digits: _Digits) -> list[Point]:
    """Return three to six places down the strip, each a little to one side."""
    count = digits.whole(3, 6)
    side = digits.sign()
    step = HEIGHT / count
    return [
        (
            WIDTH / 2 + side * (-1) ** place * digits.between(4, 34),
            step * (place + 0.5) + digits.between(-0.2, 0.2) * step,
        )
        for place in range(count)
    ]


def _drops(digits: _Digits, places: Sequence[Point]) -> list[Ring]:
    """Let twelve to sixteen drops fall, in rounds over a few places, first to last."""
    rings: list[Ring] = []
    for number in range(digits.whole(DROPS_MIN, DROPS_MAX)):
        x, y = places[number % len(places)]
        centre = (x + digits.between(-6, 6), y + digits.between(-6, 6))
        radius = digits.between(18, 28)
        rings = [[_pushed(point, centre, radius) for point in ring] for ring in rings]
        rings.append(_ring(centre, radius))
    return rings


def _pushed(point: Point, centre: Point, radius: float) -> Point:
    dx, dy = point[0] - centre[0], point[1] - centre[1]
    square = dx * dx + dy * dy
    if square == 0:
        return (centre[0] + radius, centre[1])
    stretch = math.sqrt(1 + radius * radius / square)
    return (centre[0] + dx * stretch, centre[1] + dy * stretch)


def _ring(centre: Point, radius: float) -> Ring:
    turns = (math.tau * number / RING_POINTS for number in range(RING_POINTS))
    return [
        (centre[0] + radius * math.cos(turn), centre[1] + radius * math.sin(turn))
        for turn in turns
    ]


def _refined(ring: Ring) -> Ring:
    """Put points on long edges, on the smooth curve through their neighbours."""
    refined: Ring = []
    for number, start in enumerate(ring):
        before, end, after = (
            ring[number - 1],
            ring[(number + 1) % len(ring)],
            ring[(number + 2) % len(ring)],
        )
        parts = max(1, math.ceil(math.dist(start, end) / EDGE_MAX))
        refined.append(start)
        refined.extend(
            _between(before, start, end, after, part / parts) for part in range(1, parts)
        )
    return refined


def _between(before: Point, start: Point, end: Point, after: Point, t: float) -> Point:
    """Return the point at t on the Catmull-Rom curve from start to end."""

    def along(a: float, b: float, c: float, d: float) -> float:
        bend = 2 * a - 5 * b + 4 * c - d + (3 * (b - c) + d - a) * t
        return b + 0.5 * t * (c - a + t * bend)

    return (
        along(before[0], start[0], end[0], after[0]),
        along(before[1], start[1], end[1], after[1]),
    )


def _stones(digits: _Digits) -> list[Tool]:
    return []


def _comb(digits: _Digits) -> list[Tool]:
    angle = digits.one_of((0, 90, 90, 45, 135))
    return [_tines(digits, angle=angle, spacing=digits.between(18, 30), alternate=False)]


def _there_and_back(digits: _Digits) -> list[Tool]:
    angle = digits.one_of((0, 90, 0, 30, 150))
    return [_tines(digits, angle=angle, spacing=digits.between(16, 26), alternate=True)]


def _crossed(digits: _Digits) -> list[Tool]:
    first = digits.one_of((0, 90))
    return [
        _tines(digits, angle=first, spacing=digits.between(34, 46), alternate=True),
        _tines(digits, angle=90 - first, spacing=digits.between(19, 25), alternate=False),
    ]


def _vortices(digits: _Digits) -> list[Tool]:
    count = digits.whole(2, 3)
    turn = digits.sign()
    return [
        _vortex(
            centre=(
                digits.between(30, 70),
                HEIGHT * (place + 0.5) / count + digits.between(-20, 20),
            ),
            turn=turn * (-1) ** place * digits.between(2.6, 4.2),
            reach=digits.between(34, 52),
        )
        for place in range(count)
    ]


_PATTERNS: tuple[Callable[[_Digits], list[Tool]], ...] = (
    _stones,
    _comb,
    _there_and_back,
    _crossed,
    _vortices,
)


def _tines(digits: _Digits, *, angle: float, spacing: float, alternate: bool) -> Tool:
    """Return a comb: lines at an angle [degrees], spacing apart, each pulling along itself."""
    along = (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
    shift = digits.sign() * digits.between(1.0, 1.5) * spacing
    reach = spacing * digits.between(0.22, 0.3)
    first = digits.between(0, spacing)

    def tool(point: Point) -> Point:
        across = (along[0] * point[1] - along[1] * point[0] - first) / spacing
        nearest = round(across)
        moved = 0.0
        for line in (nearest - 1, nearest, nearest + 1):
            pull = (-1) ** line if alternate else 1
            moved += pull * math.exp(-abs(across - line) * spacing / reach)
        return (point[0] + shift * moved * along[0], point[1] + shift * moved * along[1])

    return tool


def _vortex(*, centre: Point, turn: float, reach: float) -> Tool:
    """Return a whirl: points turn [radians] around the centre, less and less outwards."""

    def tool(point: Point) -> Point:
        dx, dy = point[0] - centre[0], point[1] - centre[1]
        angle = turn * math.exp(-(dx * dx + dy * dy) / (reach * reach))
        cos, sin = math.cos(angle), math.sin(angle)
        return (centre[0] + dx * cos - dy * sin, centre[1] + dx * sin + dy * cos)

    return tool


def _clipped(ring: Ring) -> Ring:
    """Cut a ring to the strip and a little more (Sutherland and Hodgman, 1974)."""
    low, right, bottom = -CLIP_MARGIN, WIDTH + CLIP_MARGIN, HEIGHT + CLIP_MARGIN
    for axis, limit, sign in ((0, low, 1), (0, right, -1), (1, low, 1), (1, bottom, -1)):
        ring = _cut(ring, axis, limit, sign)
    return ring


def _cut(ring: Ring, axis: int, limit: float, sign: int) -> Ring:
    kept: Ring = []
    for start, end in zip(ring, ring[1:] + ring[:1], strict=True):
        inside, next_inside = ((p[axis] - limit) * sign >= 0 for p in (start, end))
        if inside:
            kept.append(start)
        if inside != next_inside:
            t = (limit - start[axis]) / (end[axis] - start[axis])
            kept.append(
                (start[0] + t * (end[0] - start[0]), start[1] + t * (end[1] - start[1]))
            )
    return kept


def _drawing(
    ground: str, colours: Sequence[str], rings: Sequence[Ring], tolerance: float, lying: bool
) -> str:
    turned = ' transform="rotate(-90)translate(-100)"' if lying else ""
    across, down = (HEIGHT, WIDTH) if lying else (WIDTH, HEIGHT)
    thinned = [_simplified(ring, tolerance) for ring in rings]
    paths = [
        f'<path fill="{colour}" d="{_path(ring)}"/>'
        for ring, colour in zip(thinned, colours, strict=True)
        if len(ring) > 2
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {across:g} {down:g}" '
        f'aria-hidden="true"><g{turned}>'
        f'<path fill="{ground}" d="M0 0h{WIDTH:g}v{HEIGHT:g}H0z"/>{"".join(paths)}</g></svg>'
    )


def _simplified(ring: Ring, tolerance: float) -> Ring:
    """Leave out points that nobody sees (Ramer, 1972; Douglas and Peucker, 1973)."""
    if len(ring) < 4:
        return ring
    half = len(ring) // 2
    return (
        _thinned(ring[: half + 1], tolerance)[:-1]
        + _thinned([*ring[half:], ring[0]], tolerance)[:-1]
    )


def _thinned(line: Ring, tolerance: float) -> Ring:
    if len(line) < 3:
        return line
    off = [_off(point, line[0], line[-1]) for point in line[1:-1]]
    worst = max(range(len(off)), key=off.__getitem__)
    if off[worst] <= tolerance:
        return [line[0], line[-1]]
    return _thinned(line[: worst + 2], tolerance)[:-1] + _thinned(line[worst + 1 :], tolerance)


def _off(point: Point, start: Point, end: Point) -> float:
    length = math.dist(start, end)
    if length == 0:
        return math.dist(point, start)
    area = (end[0] - start[0]) * (point[1] - start[1]) - (end[1] - start[1]) * (
        point[0] - start[0]
    )
    return abs(area) / length


def _path(ring: Ring) -> str:
    """Write a ring as steps from point to point, with one decimal."""
    tenths = [(round(x * 10), round(y * 10)) for x, y in ring]
    steps = [(x - u, y - v) for (u, v), (x, y) in pairwise(tenths)]
    moved = [step for step in steps if step != (0, 0)]
    written = "".join(_joined(step, follows=number > 0) for number, step in enumerate(moved))
    return f"M{_joined(tenths[0], follows=False)}l{written}z"


def _joined(pair: tuple[int, int], *, follows: bool) -> str:
    x, y = (_decimal(number) for number in pair)
    return f"{' ' if follows and x[0] != '-' else ''}{x}{'' if y[0] == '-' else ' '}{y}"


def _decimal(tenths: int) -> str:
    text = f"{abs(tenths) / 10:.1f}".removesuffix(".0")
    text = text.removeprefix("0") if text.startswith("0.") else text
    return ("-" if tenths < 0 else "") + text
