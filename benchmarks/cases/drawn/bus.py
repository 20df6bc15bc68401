"""The harbour bus."""

from __future__ import annotations

from benchmarks.cases.drawn.pen import (
    COAL,
    CREAM,
    INK,
    METAL,
    NAVY,
    ORANGE,
    RED,
    TEAL,
    YELLOW,
    badge,
    bolts,
    box,
    flat,
    glass,
    lamp,
    line,
    panel,
    piece,
    sheet,
    slats,
    wheel,
)

BAYS = [(k, 126 + 78 * k) for k in range(6)]
"""Number and left edge of each bay of the bus; the fourth is the door."""


def harbour_bus() -> str:
    """A long row of equal windows and panels: many pieces that look alike."""
    return sheet(
        800,
        420,
        (
            *_bus_roof(),
            *_bus_tail(),
            *_bus_bays(),
            *_bus_doors(),
            *_bus_cab(),
            *_bus_wheels(),
        ),
    )


def _bus_roof() -> tuple[str, ...]:
    return (
        piece("chassis", panel(box(52, 334, 690, 20), COAL, radius=4)),
        *(piece(f"roof_{k + 1}", panel([(x, 92, 16 if k == 0 else 3), (x + wide, 92,
                26 if k == 3 else 3), (x + wide + (14 if k == 3 else 0), 122), (x, 122)],
                CREAM, radius=3), line([(x + 18, 103), (x + wide - 22, 103)],
                CREAM.dark, 3))
          for k, (x, wide) in enumerate(((48, 170), (218, 170), (388, 170), (558, 160)))),
        piece("roof_hatch", panel([(262, 76, 8), (352, 76, 8), (360, 94), (254, 94)], METAL,
                                  shade=4), slats(276, 84, 60, 1, colour=METAL.dark)),
        piece("cooler", panel([(452, 66, 12), (540, 66, 12), (552, 94), (440, 94)], TEAL),
              slats(464, 76, 52, 2, gap=7, colour=TEAL.dark)),
    )  # fmt: skip


def _bus_tail() -> tuple[str, ...]:
    return (
        piece("tail", panel([(48, 122), (126, 122), (126, 232), (42, 232, 10)], TEAL),
              slats(60, 190, 44, 4, gap=9)),
        piece("tail_window", glass(box(60, 134, 54, 42))),
        piece("engine_door", panel([(42, 232), (126, 232), (126, 336), (44, 336, 12)], TEAL),
              flat([(43, 252), (125, 252), (125, 264), (43, 264)], YELLOW.base),
              slats(58, 280, 40, 4, gap=10), flat(box(104, 290, 8, 22), INK, radius=4)),
    )  # fmt: skip


def _bus_bays() -> tuple[str, ...]:
    return (
        *(piece(f"bay_{k + 1}", panel(box(x, 122, 78, 110), CREAM, radius=3),
                flat(box(x + 2, 208, 74, 9), TEAL.base),
                bolts([(x + 10, 223), (x + 68, 223)], CREAM.dark))
          for k, x in BAYS if k != 3),
        *(piece(f"window_{k + 1}", glass(box(x + 6, 132, 66, 66), radius=8))
          for k, x in BAYS if k != 3),
        *(piece(f"side_{k + 1}", panel(box(x, 232, 78, 104), TEAL, radius=3),
                flat(box(x + 1.5, 252, 75, 12), YELLOW.base),
                line([(x + 12, 276), (x + 66, 276)], TEAL.dark, 3),
                badge(x + 39, 304) if k == 2 else "")
          for k, x in BAYS if k != 3),
    )  # fmt: skip


def _bus_doors() -> tuple[str, ...]:
    return (
        piece("door_rear_leaf", panel(box(360, 126, 39, 216), YELLOW, radius=4),
              flat(box(367, 136, 25, 84), "#9ed8e2", radius=4, inked=True),
              flat(box(367, 232, 25, 92), "#9ed8e2", radius=4, inked=True),
              line([(372, 200), (386, 150)], "#e0f7f8", 5),
              line([(372, 300), (386, 250)], "#e0f7f8", 5)),
        piece("door_front_leaf", panel(box(399, 126, 39, 216), YELLOW, radius=4),
              flat(box(406, 136, 25, 84), "#9ed8e2", radius=4, inked=True),
              flat(box(406, 232, 25, 92), "#9ed8e2", radius=4, inked=True),
              line([(411, 200), (425, 150)], "#e0f7f8", 5),
              line([(411, 300), (425, 250)], "#e0f7f8", 5),
              line([(403, 226), (403, 250)], INK, 4)),
    )  # fmt: skip


def _bus_cab() -> tuple[str, ...]:
    return (
        piece("cab_side", panel([(594, 122), (664, 122), (688, 232), (594, 232)], TEAL)),
        piece("cab_window", glass([(604, 134), (652, 134), (668, 214), (604, 214)])),
        piece("windscreen", glass([(664, 122), (716, 122, 12), (744, 218, 12), (688, 232)])),
        piece("sign", panel([(646, 98), (724, 98, 10), (730, 122), (646, 122)], NAVY, radius=5,
                            shade=3), line([(658, 110), (676, 110)], YELLOW.base, 5),
              line([(686, 110), (708, 110)], YELLOW.base, 5)),
        piece("cab_door", panel([(594, 232), (688, 232), (688, 336), (594, 336)], TEAL),
              flat(box(595, 252, 92, 12), YELLOW.base), flat(box(604, 240, 24, 6), INK,
                                                           radius=3)),
        piece("nose", panel([(688, 232), (744, 218, 8), (752, 250, 8), (752, 336, 10),
                             (688, 336)], TEAL),
              flat([(689, 252), (751, 252), (751, 264), (689, 264)], YELLOW.base),
              slats(706, 308, 30, 2, gap=9)),
    )  # fmt: skip


def _bus_wheels() -> tuple[str, ...]:
    return (
        piece("headlamp", lamp(728, 286, 15)),
        piece("bumper_front", panel(box(676, 328, 88, 30), COAL, radius=10),
              flat(box(730, 337, 26, 9), ORANGE.base, radius=4)),
        piece("bumper_rear", panel(box(34, 328, 60, 30), COAL, radius=10)),
        piece("tail_lamp", panel(box(36, 244, 18, 56), NAVY, radius=6),
              flat(box(39, 250, 12, 18), RED.light, radius=4),
              flat(box(39, 274, 12, 18), YELLOW.base, radius=4)),
        piece("mirror", panel([(700, 138, 4), (724, 138), (724, 178), (700, 178)], NAVY, radius=7),
              flat(box(705, 145, 13, 26), "#9ed8e2", radius=4)),
        piece("arch_rear", panel([(132, 342), (140, 304, 28), (158, 284, 18),
                                  (236, 284, 18), (254, 304, 28), (262, 342)], CREAM)),
        piece("arch_front", panel([(514, 342), (522, 304, 28), (540, 284, 18),
                                   (618, 284, 18), (636, 304, 28), (644, 342)], CREAM)),
        piece("rear_wheel", wheel(197, 352, 48, METAL, hub=YELLOW.base)),
        piece("front_wheel", wheel(579, 352, 48, METAL, hub=YELLOW.base)),
    )  # fmt: skip
