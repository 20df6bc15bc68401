"""Figures of the yard, seen from the front: signaller and winch operator."""

from __future__ import annotations

from benchmarks.cases.drawn.body import (
    Joints,
    band,
    bones,
    drum,
    foot,
    hand,
    knee,
    limb,
    patch,
    standing,
)
from benchmarks.cases.drawn.pen import (
    COAL,
    CREAM,
    GREEN,
    INK,
    METAL,
    NAVY,
    ORANGE,
    RED,
    SLATE,
    WINE,
    YELLOW,
    badge,
    bolts,
    box,
    disc,
    flat,
    hazard,
    line,
    panel,
    piece,
    sheet,
    slats,
)


def signaller() -> str:
    """Tall and narrow, in a vest with bright bands; the gloves are made to be seen."""
    body = Joints(
        210, 30, 150, 330, 448, (78, 176), (116, 312), (136, 430), (148, 530),
        (38, 424), (44, 614), (50, 790), (60, 850),
    )  # fmt: skip
    return sheet(
        420,
        880,
        (
            *standing(_signaller_legs(body), _signaller_trunk(), _signaller_arms(body)),
            bones(body),
        ),
    )


def _signaller_legs(body: Joints) -> list[str]:
    return [
        region
        for side, mark in ((-1, "r"), (1, "l"))
        for region in (
            foot(body, side, mark, SLATE, YELLOW, wide=92),
            piece(f"thigh_{mark}", limb(body, side, body.hip, body.knee, (62, 70, 58), NAVY),
                  patch(body, side, [(26, 470), (58, 476), (54, 540), (30, 546)], NAVY.light)),
            piece(f"shank_{mark}", limb(body, side, body.knee, body.ankle, (66, 74, 60), NAVY),
                  knee(body, side, ORANGE),
                  band(body, side, body.knee, body.ankle, 0.52, 68, YELLOW.base),
                  band(body, side, body.knee, body.ankle, 0.66, 68, "#e8eef0")),
        )
    ]  # fmt: skip


def _signaller_arms(body: Joints) -> list[str]:
    return [
        region
        for side, mark in ((-1, "r"), (1, "l"))
        for region in (
            hand(body, side, mark, RED if side > 0 else YELLOW, size=1.15),
            piece(f"upper_arm_{mark}",
                  limb(body, side, body.shoulder, body.elbow, (58, 66, 50), ORANGE),
                  band(body, side, body.shoulder, body.elbow, 0.55, 60, "#e8eef0")),
            piece(f"forearm_{mark}",
                  limb(body, side, body.elbow, body.wrist, (54, 62, 48), NAVY),
                  band(body, side, body.elbow, body.wrist, 0.34, 60, YELLOW.base),
                  band(body, side, body.elbow, body.wrist, 0.62, 58, "#e8eef0")),
        )
    ]  # fmt: skip


def _signaller_trunk() -> tuple[str, ...]:
    return (
        piece("waist", panel([(138, 318), (282, 318), (290, 396, 10), (238, 462, 12),
                              (182, 462, 12), (130, 396, 10)], NAVY),
              flat(box(138, 350, 144, 28), COAL.base, radius=4, inked=True),
              flat(box(194, 346, 32, 36), METAL.base, radius=5, inked=True),
              flat(box(150, 352, 24, 22), YELLOW.base, radius=3, inked=True),
              flat(box(246, 352, 24, 22), YELLOW.base, radius=3, inked=True)),
        piece("head", panel(box(186, 130, 48, 40), COAL),
              panel([(160, 70, 26), (260, 70, 26), (262, 118, 20), (236, 148, 14), (184, 148, 14),
                     (158, 118, 20)], CREAM),
              flat([(168, 82), (252, 82), (248, 114), (172, 114)], INK, radius=12),
              disc(192, 98, 9, "#8ef2d2"), disc(228, 98, 9, "#8ef2d2"),
              disc(189, 95, 3, "#fff"), disc(225, 95, 3, "#fff"),
              line([(198, 131), (210, 135), (222, 131)], INK, 3),
              panel([(158, 78, 8), (162, 44, 24), (210, 26, 30), (258, 44, 24), (262, 78, 8)], YELLOW),
              flat(box(150, 68, 120, 13), YELLOW.dark, radius=6, inked=True), badge(210, 52),
              *(panel(box(x, 84, 20, 40), RED, radius=9) for x in (144, 256))),
        piece("torso", panel([(150, 154, 16), (270, 154, 16), (304, 176, 16), (288, 330, 10),
                              (132, 330, 10), (116, 176, 16)], ORANGE, shade=7),
              flat([(150, 158), (174, 158), (196, 328), (168, 328)], "#e8eef0", inked=True),
              flat([(246, 158), (270, 158), (252, 328), (224, 328)], "#e8eef0", inked=True),
              flat(box(131, 262, 158, 24), YELLOW.base, radius=2, inked=True),
              line([(210, 160), (210, 326)], INK, 3), badge(240, 222),
              flat(box(140, 212, 34, 30), ORANGE.dark, radius=4),
              line([(148, 206), (148, 222)], INK, 5)),
    )  # fmt: skip


def winch_operator() -> str:
    """Broad and short, in a suit as wide as it is tall, with drums for forearms."""
    body = Joints(
        290, 34, 160, 322, 430, (138, 196), (190, 316), (206, 420), (214, 508),
        (62, 420), (76, 544), (84, 664), (98, 728),
    )  # fmt: skip
    return sheet(
        580,
        760,
        (
            *standing(
                _winch_operator_legs(body),
                _winch_operator_trunk(),
                _winch_operator_arms(body),
            ),
            bones(body),
        ),
    )


def _winch_operator_legs(body: Joints) -> list[str]:
    return [
        region
        for side, mark in ((-1, "r"), (1, "l"))
        for region in (
            foot(body, side, mark, COAL, WINE, wide=138),
            piece(f"thigh_{mark}", limb(body, side, body.hip, body.knee, (104, 116, 98), GREEN),
                  patch(body, side, [(50, 446), (100, 452), (98, 500), (54, 504)], GREEN.dark)),
            piece(f"shank_{mark}", limb(body, side, body.knee, body.ankle, (108, 124, 104), WINE),
                  knee(body, side, METAL),
                  patch(body, side, [(50, 596), (114, 596), (110, 650), (60, 650)], CREAM.base)),
        )
    ]  # fmt: skip


def _winch_operator_arms(body: Joints) -> list[str]:
    return [
        region
        for side, mark in ((-1, "r"), (1, "l"))
        for region in (
            hand(body, side, mark, SLATE, size=1.5),
            piece(f"upper_arm_{mark}",
                  limb(body, side, body.shoulder, body.elbow, (96, 112, 84), GREEN),
                  patch(body, side, [(112, 186), (172, 186), (180, 232), (112, 236)], METAL.base),
                  bolts([body.at(side, (122, 196))[:2], body.at(side, (168, 226))[:2]])),
            piece(f"forearm_{mark}",
                  limb(body, side, body.elbow, body.wrist, (104, 122, 96), WINE),
                  drum(*body.at(side, (199, 366))[:2])),
        )
    ]  # fmt: skip


def _winch_operator_trunk() -> tuple[str, ...]:
    return (
        piece("waist", panel([(196, 312), (384, 312), (398, 396, 12), (340, 450, 14),
                              (240, 450, 14), (182, 396, 12)], COAL),
              hazard(194, 346, 192, 24),
              flat(box(266, 338, 48, 42), METAL.base, radius=7, inked=True),
              disc(290, 359, 10, WINE.base, inked=True)),
        piece("head", panel(box(252, 134, 76, 44), COAL),
              panel([(220, 84, 22), (360, 84, 22), (362, 132, 20), (334, 164, 14), (246, 164, 14),
                     (218, 132, 20)], METAL),
              flat([(230, 92), (350, 92), (346, 128), (234, 128)], INK, radius=14),
              flat(box(250, 102, 30, 14), "#ffd24a", radius=7),
              flat(box(300, 102, 30, 14), "#ffd24a", radius=7),
              slats(264, 142, 52, 2, gap=9, colour=COAL.base),
              panel([(214, 88, 8), (220, 50, 30), (290, 24, 40), (360, 50, 30), (366, 88, 8)], GREEN),
              flat([(274, 30, 8), (306, 30, 8), (310, 82), (270, 82)], CREAM.base, inked=True),
              flat(box(204, 78, 172, 14), GREEN.dark, radius=7, inked=True)),
        piece("torso", panel([(214, 160, 22), (366, 160, 22), (446, 190, 26), (424, 290, 20),
                              (388, 328, 10), (192, 328, 10), (156, 290, 20), (134, 190, 26)], GREEN,
                             shade=8),
              panel([(226, 178), (354, 178), (368, 236, 10), (338, 268, 10), (242, 268, 10),
                     (212, 236, 10)], CREAM), badge(290, 222),
              slats(256, 284, 68, 3, gap=12, colour=GREEN.dark),
              bolts([(174, 206), (406, 206), (182, 280), (398, 280)]),
              line([(218, 198), (240, 198)], ORANGE.base, 6),
              line([(340, 198), (362, 198)], ORANGE.base, 6)),
    )  # fmt: skip
