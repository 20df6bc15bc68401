"""The salvage tug."""

from __future__ import annotations

from itertools import pairwise

from benchmarks.cases.drawn.pen import (
    COAL,
    CREAM,
    INK,
    METAL,
    NAVY,
    ORANGE,
    RED,
    SLATE,
    STEEL,
    WHITE,
    WINE,
    YELLOW,
    badge,
    bolts,
    box,
    disc,
    flat,
    glass,
    lamp,
    line,
    panel,
    piece,
    ring,
    sheet,
    slats,
)

FRAMES = (52, 176, 300, 424, 548, 660)
"""Where the hull is plated, from the stern forward."""


def salvage_tug() -> str:
    """No wheels, a curved hull, and a deck crowded with small gear."""
    return sheet(
        800,
        480,
        (
            *_tug_keel(),
            *_tug_funnel(),
            *_tug_house(),
            *_tug_bridge(),
            *_tug_deck(),
            *_tug_hull(),
            *_tug_bulwark(),
            *_tug_fenders(),
        ),
    )


def _tug_keel() -> tuple[str, ...]:
    return (
        piece("rudder", panel([(52, 384), (84, 384), (80, 446), (44, 446)], SLATE)),
        piece("nozzle", panel([(84, 392), (150, 396), (150, 452), (84, 456)], METAL, radius=10),
              ring(116, 424, 16, METAL.dark, 5), disc(116, 424, 7, YELLOW.base)),
        *(piece(f"keel_{k + 1}", panel([(a, 366), (b, 366), (b, _keel(b)), (a, _keel(a))], WINE,
                                       radius=2, shade=7),
                line([(a + 14, 390), (b - 14, 390)], WINE.dark, 3))
          for k, (a, b) in enumerate(pairwise(FRAMES))),
        piece("keel_bow", panel([(660, 366), (740, 366, 4), (722, 404, 20), (660, _keel(660))],
                                WINE, radius=2, shade=7)),
    )  # fmt: skip


def _tug_funnel() -> tuple[str, ...]:
    return (
        piece("funnel_aft", panel([(262, 120), (316, 112), (316, 246), (254, 246)], YELLOW),
              flat([(261, 134), (314.5, 128), (314.5, 152), (259, 158)], INK),
              line([(270, 178), (270, 234)], YELLOW.light, 4)),
        piece("funnel_fore", panel([(318, 112), (366, 120, 8), (374, 246), (318, 246)], YELLOW),
              flat([(319.5, 128), (365, 134), (367, 158), (319.5, 152)], INK), badge(346, 196)),
        piece("funnel_cap", panel([(256, 98, 8), (368, 98, 8), (372, 122), (252, 122)], COAL,
                                  shade=4)),
        piece("mast", panel([(468, 26), (484, 26), (492, 108), (460, 108)], CREAM, radius=3),
              disc(476, 36, 6, RED.base, inked=True)),
        piece("radar", panel(box(432, 52, 90, 16), COAL, radius=7, shade=3)),
    )  # fmt: skip


def _tug_house() -> tuple[str, ...]:
    return (
        piece("deckhouse_aft", panel([(250, 240), (402, 240), (402, 318), (250, 318)], CREAM),
              flat(box(251.5, 296, 149, 12), NAVY.base),
              *(disc(x, 270, 13, METAL.base, inked=True) + disc(x, 270, 8, "#9ed8e2")
                + line([(x - 4, 273), (x + 3, 266)], "#fff", 3) for x in (286, 330, 374))),
        piece("deckhouse_fore", panel([(402, 220), (604, 220, 10), (628, 318), (402, 318)], CREAM),
              flat([(403.5, 296), (620, 296), (624, 308), (403.5, 308)], NAVY.base),
              *(disc(x, 258, 13, METAL.base, inked=True) + disc(x, 258, 8, "#9ed8e2")
                + line([(x - 4, 261), (x + 3, 254)], "#fff", 3) for x in (500, 542, 582))),
        piece("cabin_door", panel(box(420, 232, 48, 86), ORANGE, radius=9),
              disc(444, 256, 11, "#9ed8e2", inked=True), line([(430, 284), (430, 296)], INK, 5)),
    )  # fmt: skip


def _tug_bridge() -> tuple[str, ...]:
    return (
        piece("wheelhouse_back", panel([(388, 128), (440, 128), (440, 222), (380, 222)], WHITE),
              slats(396, 192, 30, 2, gap=10, colour=WHITE.dark)),
        piece("wheelhouse_front", panel([(440, 128), (572, 128), (596, 222), (440, 222)], WHITE),
              line([(452, 210), (584, 210)], ORANGE.base, 6)),
        piece("window_aft", glass(box(396, 138, 38, 44))),
        piece("window_mid", glass(box(450, 138, 46, 56))),
        piece("window_side", glass(box(504, 138, 40, 56))),
        piece("windscreen", glass([(552, 138), (570, 138), (586, 196), (552, 196)])),
        piece("roof", panel([(376, 106, 10), (586, 106, 12), (600, 130), (372, 130)], ORANGE,
                            shade=4), line([(396, 115), (570, 115)], ORANGE.light, 3)),
        piece("search_light", panel(box(548, 76, 40, 32), COAL, radius=8),
              flat(box(569, 81, 16, 22), "#ffeaa2", radius=5)),
        piece("horn", panel([(500, 84), (534, 78), (534, 106), (500, 100)], YELLOW, radius=3,
                            shade=3)),
    )  # fmt: skip


def _tug_deck() -> tuple[str, ...]:
    return (
        piece("life_raft", panel(box(254, 214, 100, 32), WHITE, radius=14),
              line([(280, 216), (280, 244)], RED.base, 7),
              line([(328, 216), (328, 244)], RED.base, 7)),
        piece("crane_post", panel(box(196, 196, 26, 124), ORANGE, radius=4),
              line([(203, 208), (203, 310)], ORANGE.light, 3)),
        piece("crane_arm", panel([(62, 168), (200, 176), (234, 190, 10), (234, 214, 10),
                                  (196, 206), (62, 184)], ORANGE, radius=4, shade=4),
              disc(214, 201, 7, INK)),
        piece("crane_hook", panel([(64, 182), (80, 182), (80, 226), (64, 226)], METAL, radius=3),
              line([(73, 224), (73, 240), (64, 250), (56, 242)], STEEL, 8),
              line([(73, 224), (73, 240), (64, 250), (56, 242)], INK, 2)),
        piece("tow_winch", disc(156, 286, 34, SLATE.base, inked=True),
              ring(156, 286, 25, YELLOW.dark, 6, dashes="5 3"),
              ring(156, 286, 17, YELLOW.dark, 5, dashes="5 3"),
              disc(156, 286, 9, ORANGE.base, inked=True)),
        piece("winch_bed", panel(box(108, 300, 96, 24), COAL, radius=4, shade=4)),
        piece("tow_hook", panel([(84, 268, 8), (108, 268, 8), (108, 322), (84, 322)], RED),
              disc(96, 284, 7, INK)),
        piece("windlass", panel(box(636, 224, 54, 44), SLATE, radius=8),
              disc(663, 242, 11, ORANGE.base, inked=True), disc(663, 242, 4, INK)),
    )  # fmt: skip


def _tug_hull() -> tuple[str, ...]:
    return (
        *(piece(f"hull_{k + 1}", panel([(a, _sheer(a) + 26), (b, _sheer(b) + 26), (b, 372),
                                       (a, 372)], NAVY, radius=2, shade=7),
                flat([(a + 1.5, 356), (b - 1.5, 356), (b - 1.5, 366), (a + 1.5, 366)],
                     WHITE.base), bolts([(a + 12, _sheer(a) + 40), (b - 12, _sheer(b) + 42)],
                                        NAVY.light))
          for k, (a, b) in enumerate(pairwise(FRAMES))),
        piece("hull_bow", panel([(660, _sheer(660) + 26), (772, _sheer(770) + 20, 6),
                                 (738, 372, 10), (660, 372)], NAVY, radius=2, shade=7),
              flat([(661.5, 356), (741, 356), (738, 366), (661.5, 366)], WHITE.base),
              line([(700, 296), (712, 296), (706, 296), (706, 326)], STEEL, 6),
              line([(692, 318), (706, 328), (720, 318)], STEEL, 6)),
    )  # fmt: skip


def _tug_bulwark() -> tuple[str, ...]:
    return (
        *(piece(f"bulwark_{k + 1}", panel([(a, _sheer(a)), (b, _sheer(b)), (b, _sheer(b) + 30),
                                          (a, _sheer(a) + 30)], ORANGE, radius=3, shade=4),
                line([(a + 20, _sheer(a + 20) + 15), (a + 44, _sheer(a + 44) + 15)],
                     ORANGE.dark, 7))
          for k, (a, b) in enumerate(pairwise(FRAMES))),
        piece("bulwark_bow", panel([(660, _sheer(660)), (776, _sheer(776), 10), (770,
                                    _sheer(770) + 26, 6), (660, _sheer(660) + 30)], ORANGE,
                                   radius=3, shade=4)),
    )  # fmt: skip


def _tug_fenders() -> tuple[str, ...]:
    return (
        piece("bow_fender", panel([(740, 218, 10), (784, 204, 14), (790, 262, 16), (752, 282, 12)],
                                  COAL, shade=6),
              *(line([(756 + k, 228 + 16 * k // 3), (778 + k, 220 + 16 * k // 3)], COAL.light, 4)
                for k in (0, 3, 6))),
        piece("stern_fender", panel(box(36, 304, 30, 62), COAL, radius=12),
              slats(44, 320, 14, 3, gap=14, colour=COAL.light)),
        *(piece(f"tyre_{k + 1}", disc(x, y, 28, COAL.base, inked=True),
                ring(x, y, 21, "#1f2530", 4, dashes="6 4"),
                disc(x, y, 13, NAVY.base, inked=True),
                line([(x, y - 13), (x, y - 30)], STEEL, 5))
          for k, (x, y) in enumerate(((130, 346), (248, 346), (366, 342), (484, 338),
                                      (600, 328)))),
        piece("lifebuoy", disc(226, 276, 30, ORANGE.base, inked=True),
              ring(226, 276, 21, "#fffaf0", 14, dashes="16.5 16.5"),
              disc(226, 276, 12, CREAM.base, inked=True)),
        piece("deck_lamp", lamp(610, 238, 11)),
    )  # fmt: skip


def _sheer(x: float) -> float:
    """Top of the bulwark: low aft, rising to the bow."""
    return 316 - 108 * float(max(0.0, (x - 300) / 480) ** 1.7)


def _keel(x: float) -> float:
    """Bottom of the hull: rises under the stern and towards the bow."""
    return 446 - 44 * max(0.0, (200 - x) / 150) - 20 * max(0.0, (x - 540) / 120)
