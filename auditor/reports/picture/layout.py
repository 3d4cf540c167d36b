"""Where everything in the picture of a site stands: geometry in whole CSS pixels, nothing about how it is drawn.

A tree from the top down. The devices below another hang on a bar; what does not fit beside each other hangs on further
bars along a spine at the left. Every device with all that hangs on it has a rectangle of its own, and a link's
labels stand beside its lower end within that rectangle, so nothing can overlap.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from auditor.reports.picture.scene import Card, DrawnLink, Scene, TextLine
from auditor.reports.picture.shapes import Box, Picture, ShapeGroup, Sign, Wire
from auditor.reports.picture.text_metrics import (
    BASELINE,
    LINE,
    NAME_SIZE,
    PAD,
    SIGN,
    both_ports,
    lettered,
    short_port,
    text_width,
    write,
)

GAP = 20
"""Between neighbours, and between what hangs on one bar and the next bar."""
STEM = 14
"""From a device to the bar below it."""
INDENT = 28
SPINE = 14
BESIDE = 13
"""Between a link and what stands beside it."""


@dataclass(frozen=True, slots=True)
class Room:
    """How much room there is.

    Attributes:
        width: what should do.
        card: the narrowest and the widest that a device may be.
        centred: whether devices stand over the middle of what hangs on them or, as in a list, at its left.
    """

    kind: str
    width: int
    card: tuple[int, int]
    centred: bool


WIDE = Room("wide", 948, (168, 214), centred=True)
NARROW = Room("narrow", 320, (210, 300), centred=False)
PAPER = tuple(Room("paper", width, (168, 214), centred=True) for width in (640, 948, 1400, 2000))


@dataclass(slots=True)
class _Block:
    """A device with all that hangs on it.

    Attributes:
        shelves: bars from the top down; each has what hangs on it, with its place in this block.
        bars: how low each bar is.
        spine: whether there is more than one bar.
    """

    number: int
    card_x: int
    card_height: int
    width: int
    height: int
    shelves: list[_Shelf]
    bars: list[int]
    spine: bool


_Shelf = list[tuple[_Block, int, int]]
"""Devices with all that hangs on them, and their places."""


def placed(scene: Scene, room: Room) -> Picture:
    """Return the picture of a scene. The same scene gives the same picture."""
    return _Layout(scene, room).picture()


class _Layout:
    def __init__(self, scene: Scene, room: Room) -> None:
        self.scene = scene
        self.room = room
        self.below: dict[int | None, list[int]] = {}
        for number, link in enumerate(scene.parents):
            self.below.setdefault(link.ends[0] if link else None, []).append(number)
        narrowest, widest = room.card
        wished = max((_wished(card) for card in scene.cards), default=0) if room.centred else widest
        nested = max((self._nested(root) for root in self.below.get(None, [])), default=0)
        self.card_width = max(narrowest, min(widest, wished, room.width - 2 - INDENT * nested))

    @property
    def side(self) -> int:
        """The room beside a link within the width of the device below it."""
        return self.card_width // 2 - BESIDE if self.room.centred else self.card_width - SPINE - BESIDE

    def _nested(self, number: int) -> int:
        """Return how often what hangs on a device is set in, at most."""
        below = self.below.get(number, [])
        return max((self._nested(child) for child in below), default=0) + (len(below) > 1)

    def _rank(self, block: _Block) -> int:
        return self.scene.cards[block.number].rank

    def _leaves(self, number: int) -> int:
        return sum(map(self._leaves, self.below.get(number, []))) or 1

    def picture(self) -> Picture:
        picture = Picture(self.room.kind, self.scene.title, self.scene.words, self.scene.linked)
        roots = self.below.get(None, [])
        shelves, width, height = self._shelves(roots, self.room.width - 2)
        for block, x, y in (item for shelf in shelves[0] for item in shelf):
            self._draw(picture, block, x + 1, y + 1)
        picture.width, picture.height = width + 2, height + 2
        picture.fits = picture.width <= self.room.width
        return picture

    def _shelves(self, numbers: list[int], room: int) -> tuple[tuple[list[_Shelf], list[int]], int, int]:
        """Set devices beside each other as far as there is room; return shelves and their bars, width and height.

        What hangs on a bar shares a shelf whatever its role, the higher roles higher; devices on which no link leads
        down have shelves of their own for every role.
        """
        shelves: list[_Shelf] = []
        bars: list[int] = []
        width = top = 0
        waiting = [self._block(number, room) for number in numbers]
        while waiting:
            taken = [waiting.pop(0)]
            while waiting and sum(b.width for b in taken) + GAP * len(taken) + waiting[0].width <= room:
                if self.scene.parents[taken[0].number] is None and self._rank(waiting[0]) != self._rank(taken[0]):
                    break
                taken.append(waiting.pop(0))
            top += GAP if bars else 0
            bars.append(top)
            shelf = []
            x = 0
            for block, lower in zip(taken, self._lower(taken), strict=True):
                shelf.append((block, x, top + lower))
                x += block.width + GAP
            shelves.append(shelf)
            width = max(width, x - GAP)
            top = max(y + block.height for block, _, y in shelf)
        return (shelves, bars), width, top

    def _lower(self, blocks: list[_Block]) -> list[int]:
        """Return how far below their bar devices stand: so that labels fit, and no role beside a higher one."""
        depth = max(self._depth(block.number) for block in blocks)
        lower: dict[int, int] = {}
        total = depth
        for rank in sorted(set(map(self._rank, blocks))):
            lower[rank] = total
            total += max(b.card_height for b in blocks if self._rank(b) == rank) + STEM + depth
        return [lower[self._rank(block)] for block in blocks]

    def _depth(self, number: int) -> int:
        """Return the height that the labels of the link to a device take."""
        link = self.scene.parents[number]
        return len(_beside(link, self.room, self.side)) * LINE + 14 if link else 0

    def _block(self, number: int, room: int) -> _Block:
        card = self.scene.cards[number]
        height = _card_height(card)
        below = sorted(self.below.get(number, []), key=lambda child: (self.scene.cards[child].rank, child))
        if not below:
            return _Block(number, 0, height, self.card_width, height, [], [], spine=False)
        leaves = sum(map(self._leaves, below))
        spine = len(below) > 1 and leaves * (self.card_width + GAP) - GAP > room
        indent = INDENT if spine else 0
        (shelves, bars), width, tall = self._shelves(below, room - indent)
        top = height + STEM
        shelves = [[(block, x + indent, y + top) for block, x, y in shelf] for shelf in shelves]
        width += indent
        card_x = 0
        if self.room.centred:
            middle = width if spine else sum(x + self._drop(block) for block, x, _ in (shelves[0][0], shelves[0][-1]))
            card_x = max(0, min(width - self.card_width, (middle - self.card_width) // 2))
        return _Block(
            number, card_x, height, max(width, self.card_width), top + tall, shelves,
            [bar + top for bar in bars], spine,
        )  # fmt: skip

    def _drop(self, block: _Block) -> int:
        """Return where in a block the line comes down to its device, and leaves it again."""
        return block.card_x + (self.card_width // 2 if self.room.centred else SPINE)

    def _draw(self, picture: Picture, block: _Block, x: int, y: int) -> None:
        single = sum(map(len, block.shelves)) == 1
        if block.shelves and not single:
            picture.groups.append(self._bars(block, x, y))
        for shelf, bar in zip(block.shelves, block.bars, strict=True):
            for child, child_x, child_y in shelf:
                link = self.scene.parents[child.number]
                if link:
                    ends = (y + (block.card_height if single else bar), y + child_y)
                    depth = self._depth(child.number)
                    picture.groups.append(self._link(link, x + child_x + self._drop(child), ends, depth))
                self._draw(picture, child, x + child_x, y + child_y)
        picture.groups.append(self._card(self.scene.cards[block.number], x + block.card_x, y))

    def _bars(self, block: _Block, x: int, y: int) -> ShapeGroup:
        group = ShapeGroup("bars", "")
        stem = x + self._drop(block)
        first = block.bars[0]
        group.wires.append(Wire(((stem, y + block.card_height), (stem, y + first)), "bar"))
        if block.spine:
            group.wires.append(Wire(((x + SPINE, y + first), (x + SPINE, y + block.bars[-1])), "bar"))
        for number, (shelf, bar) in enumerate(zip(block.shelves, block.bars, strict=True)):
            drops = [x + child_x + self._drop(child) for child, child_x, _ in shelf]
            reached = drops + [x + SPINE] * block.spine + [stem] * (number == 0)
            if min(reached) < max(reached):
                group.wires.append(Wire(((min(reached), y + bar), (max(reached), y + bar)), "bar"))
        return group

    def _link(self, link: DrawnLink, x: int, ends: tuple[int, int], depth: int) -> ShapeGroup:
        """Place a link's own line and its labels beside the lower end of it."""
        group = ShapeGroup("link", link.words)
        top, bottom = ends
        kind = "leaks" if "leaks" in link.tones else "unverified" if "unverified" in link.tones else "plain"
        middle = bottom - depth // 2
        if "stops" in link.tones:
            group.wires += [Wire(((x, top), (x, middle - 9)), kind), Wire(((x, middle + 9), (x, bottom)), kind)]
            group.signs.append(Sign(x, middle, "stops"))
        else:
            group.wires.append(Wire(((x, top), (x, bottom)), kind))
        base = bottom - depth + 7
        lines = _beside(link, self.room, self.side)
        for row, line in enumerate(lines):
            write(group, line, (x + BESIDE, base + row * LINE), self.side, "label")
        if self.room.centred:
            for row, port in ((0, link.ports[0]), (len(lines) - 1, link.ports[1])):
                text = lettered(short_port(port, self.side), self.side, "port", whole=port)
                group.texts.append(replace(text, x=x - BESIDE, y=base + row * LINE + BASELINE, anchor="end"))
        return group

    def _card(self, card: Card, x: int, y: int) -> ShapeGroup:
        group = ShapeGroup("device", card.words)
        group.boxes.append(Box(x, y, self.card_width, _card_height(card), card.outline))
        inner = self.card_width - 2 * PAD
        name = lettered(card.name, inner, "name", size=NAME_SIZE)
        group.texts.append(replace(name, x=x + PAD, y=y + 20))
        top = y + 27
        for line in card.lines:
            write(group, line, (x + PAD, top), inner, "fact")
            top += LINE
        if card.served:
            group.wires.append(Wire(((x, top + 4), (x + self.card_width, top + 4)), "rule"))
            top += 8
        for line in card.served:
            write(group, line, (x + PAD, top), inner, "fact")
            top += LINE
        return group


def _wished(card: Card) -> int:
    """Return the width at which nothing of a device has to be shortened."""
    lines = [
        text_width(line.text) + SIGN + (text_width(line.right) + PAD if line.right else 0)
        for line in card.lines + card.served
    ]
    return max([text_width(card.name, NAME_SIZE), *lines]) + 2 * PAD


def _card_height(card: Card) -> int:
    return 27 + LINE * (len(card.lines) + len(card.served)) + (8 if card.served else 0) + 7


def _beside(link: DrawnLink, room: Room, side: int) -> list[TextLine]:
    """Return the lines beside a link; where parents stand in the middle its ports have room on the other side.

    The cross in a line that stops something is its sign.
    """
    lines = [replace(line, sign=False) if line.tone == "stops" else line for line in link.lines]
    lines = [part for line in lines for part in _broken(line, side)]
    if room.centred:
        return lines if len(lines) > 1 else [*lines, TextLine("")]
    return [TextLine(both_ports(link.ports, side)), *lines]


def _broken(line: TextLine, side: int) -> list[TextLine]:
    """Return a line of VLANs as two where it is too long for one; what is still too long is shortened."""
    if line.tone or text_width(line.text) <= side or "," not in line.text:
        return [line]
    fits = [cut for cut, sign in enumerate(line.text, 1) if sign == "," and text_width(line.text[:cut]) <= side]
    return [replace(line, text=line.text[: fits[-1]]), replace(line, text=line.text[fits[-1] :])] if fits else [line]
