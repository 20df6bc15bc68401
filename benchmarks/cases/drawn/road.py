"""Road vehicles of the yard: fire tender and mobile generator van."""

from __future__ import annotations

from benchmarks.cases.drawn.pen import (
    BLUE,
    COAL,
    CREAM,
    GREEN,
    INK,
    METAL,
    NAVY,
    ORANGE,
    PAPER,
    RED,
    SLATE,
    WHITE,
    YELLOW,
    badge,
    bolts,
    box,
    disc,
    flat,
    glass,
    hazard,
    lamp,
    line,
    panel,
    piece,
    ring,
    sheet,
    slats,
    wheel,
)


def fire_tender() -> str:
    """Long and boxy, with a ladder on top and six lockers."""
    return sheet(
        800,
        420,
        (
            *_tender_roof(),
            *_tender_frame(),
            *_tender_cab(),
            *_tender_front(),
            *_tender_wheels(),
        ),
    )


def _lockers() -> list[str]:
    return [
        piece(
            f"locker_{k + 1}",
            panel(box(x, 166, wide, 92), RED, radius=5),
            flat(box(x + 9, 175, wide - 18, 62), METAL.base, radius=3, inked=True),
            slats(x + 15, 184, wide - 30, 6, gap=9.5, colour=METAL.dark),
            flat(box(x + wide / 2 - 9, 228, 18, 6), INK, radius=3),
            flat(box(x + 2, 243, wide - 4, 9), PAPER),
        )
        for k, (x, wide) in enumerate(((64, 84), (148, 84), (232, 84), (316, 72)))
    ]


def _skirts() -> list[str]:
    return [
        piece(
            f"skirt_{k + 1}",
            panel(box(x, 258, wide, 80), RED),
            hazard(hatch - 6, 264, 64, 14),
            flat(box(hatch, 290, 52, 32), RED.dark, radius=4),
            flat(box(hatch + 16, 303, 20, 6), PAPER, radius=3),
        )
        for k, (x, wide, hatch) in enumerate(
            ((64, 119, 74), (183, 133, 256), (316, 72, 326))
        )
    ]


def _ladder() -> list[str]:
    return [
        piece(
            name,
            panel(box(x, y, wide, 30), METAL, radius=3, shade=4),
            "".join(
                flat(box(at, y + 8, 13, 13), COAL.base, radius=2)
                for at in range(int(x) + 9, int(x + wide) - 14, 21)
            ),
            flat(box(end, y - 2, 12, 34), tip, radius=3, inked=True),
        )
        for name, x, y, wide, end, tip in (
            ("ladder_outer", 30, 112, 190, 30, YELLOW.base),
            ("ladder_inner", 196, 112, 194, 378, ORANGE.base),
        )
    ]


def _tender_roof() -> tuple[str, ...]:
    return (
        piece("water_tank", panel(box(70, 138, 318, 34), CREAM, radius=8),
              bolts([(84 + 48 * k, 150) for k in range(7)], CREAM.dark)),
        *_ladder(),
        piece("ladder_turntable", panel([(330, 92), (388, 92), (396, 142), (322, 142)], SLATE),
              disc(360, 116, 14, METAL.base, inked=True), disc(360, 116, 5, INK)),
        piece("monitor", panel([(408, 100), (424, 92), (470, 78), (476, 92), (440, 112),
                                (440, 138), (408, 138)], YELLOW, radius=4),
              line([(462, 78), (468, 96)], INK, 4), disc(424, 116, 6, INK)),
    )  # fmt: skip


def _tender_frame() -> tuple[str, ...]:
    return (
        piece("rear_step", panel(box(44, 322, 30, 24), COAL, radius=4),
              bolts([(53, 334), (65, 334)], METAL.base)),
        piece("chassis", panel([(60, 330), (700, 330), (700, 352), (60, 352)], COAL, radius=4),
              bolts([(260 + 30 * k, 341) for k in range(7)], COAL.light)),
        piece("fuel_tank", panel(box(256, 326, 120, 44), METAL, radius=14),
              line([(286, 328), (286, 368)], METAL.dark, 6),
              line([(346, 328), (346, 368)], METAL.dark, 6)),
        *_lockers(),
        *_skirts(),
    )  # fmt: skip


def _tender_cab() -> tuple[str, ...]:
    return (
        piece("pump_panel", panel(box(388, 138, 62, 200), NAVY, radius=5),
              flat(box(396, 148, 46, 84), METAL.base, radius=4, inked=True),
              *(lamp(x, y, 8, "#fffdf5") for x in (408, 430) for y in (164, 188)),
              ring(419, 215, 8, INK, 4), disc(419, 215, 3, RED.base),
              disc(405, 262, 10, METAL.base, inked=True),
              disc(433, 262, 10, METAL.base, inked=True), disc(405, 262, 4, INK),
              disc(433, 262, 4, INK), hazard(392, 306, 54, 14)),
        piece("crew_door", panel(box(450, 138, 92, 200), RED),
              flat(box(450, 243, 92, 9), PAPER), flat(box(456, 262, 26, 7), INK, radius=3),
              line([(458, 290), (534, 290)], RED.dark, 3), badge(506, 296)),
        piece("crew_window", glass(box(460, 148, 72, 64))),
        piece("cab_door", panel([(542, 138), (626, 138), (650, 218), (650, 300), (630, 338),
                                 (542, 338)], RED),
              flat(box(543, 243, 106, 9), PAPER), flat(box(552, 262, 26, 7), INK, radius=3),
              line([(552, 290), (620, 290)], RED.dark, 3)),
        piece("cab_window", glass([(552, 148), (614, 148), (634, 212), (552, 212)])),
        piece("nose", panel([(650, 218), (712, 222, 14), (730, 250, 10), (730, 338), (640, 338),
                             (650, 300)], RED, radius=4),
              flat([(651, 243), (727, 243), (729, 252), (651, 252)], PAPER),
              slats(664, 270, 30, 4, gap=9, colour=RED.dark)),
    )  # fmt: skip


def _tender_front() -> tuple[str, ...]:
    return (
        piece("windscreen", glass([(626, 138), (648, 138, 12), (700, 216, 8), (650, 216)])),
        piece("roof", panel([(444, 118, 10), (620, 116, 12), (652, 142), (444, 142)], CREAM),
              line([(470, 128), (606, 128)], CREAM.dark, 3)),
        piece("light_bar", panel(box(520, 92, 84, 26), BLUE, radius=9, shade=4),
              line([(548, 95), (548, 115)]), line([(576, 95), (576, 115)]),
              flat(box(528, 97, 12, 6), "#fff", radius=3)),
        piece("grille", panel([(706, 268), (738, 268), (738, 322), (706, 322)], METAL, radius=5),
              slats(713, 280, 18, 4, gap=10)),
        piece("headlamp", lamp(712, 246, 15)),
        piece("bumper", panel([(640, 322), (752, 322, 10), (752, 356, 10), (640, 356)], WHITE),
              hazard(690, 330, 56, 16, first=RED.base)),
    )  # fmt: skip


def _tender_wheels() -> tuple[str, ...]:
    return (
        piece("mirror", panel(box(656, 158, 18, 44), NAVY, radius=6),
              flat(box(660, 164, 9, 30), "#9ed8e2", radius=3)),
        piece("mudguard_rear", panel([(118, 338), (124, 300, 34), (150, 272, 26),
                                      (216, 272, 26), (242, 300, 34), (248, 338)], NAVY)),
        piece("mudguard_front", panel([(520, 340), (526, 306, 30), (550, 284, 22),
                                       (624, 284, 22), (648, 306, 30), (654, 340)], NAVY)),
        piece("hose_reel", disc(270, 214, 30, YELLOW.base, inked=True),
              *(ring(270, 214, r, ORANGE.dark, 3.5) for r in (25, 19)),
              disc(270, 214, 13, RED.base, inked=True), disc(268, 211, 4, RED.light)),
        piece("tail_lamp", panel(box(50, 268, 18, 46), NAVY, radius=5),
              flat(box(53, 274, 12, 14), RED.light, radius=3),
              flat(box(53, 292, 12, 14), YELLOW.base, radius=3)),
        piece("rear_wheel", wheel(183, 346, 54, CREAM, hub=RED.base)),
        piece("front_wheel", wheel(587, 346, 54, CREAM, hub=RED.base)),
    )  # fmt: skip


def generator_van() -> str:
    """Thirteen pieces, most of them large: few and big is hard in its own way."""
    return sheet(
        720,
        420,
        (*_van_box(), *_van_cab(), *_van_wheels()),
    )


def _van_box() -> tuple[str, ...]:
    return (
        piece("flood_lamps", panel(box(150, 34, 150, 44), COAL, radius=10),
              *(lamp(x, 56, 16, "#fffbe0") for x in (178, 225, 272))),
        piece("mast", panel(box(206, 78, 38, 50), METAL, radius=3),
              slats(214, 88, 22, 2, colour=METAL.dark)),
        piece("chassis", panel(box(50, 330, 560, 22), COAL, radius=5)),
        piece("generator", panel([(48, 126, 12), (236, 126), (236, 338), (48, 338, 12)], GREEN),
              flat(box(66, 146, 150, 78), COAL.base, radius=6, inked=True),
              slats(80, 160, 122, 6, gap=10, colour=SLATE.light),
              flat(box(66, 238, 60, 48), PAPER, radius=5, inked=True),
              disc(82, 254, 8, METAL.base, inked=True), disc(108, 254, 8, METAL.base,
                                                             inked=True),
              line([(76, 274), (114, 274)], RED.base, 5), hazard(140, 240, 78, 16),
              bolts([(56, 136), (226, 136), (56, 326), (226, 326)], GREEN.dark)),
        piece("sliding_door", panel(box(236, 126, 150, 212), GREEN),
              flat(box(237.5, 232, 147, 14), YELLOW.base),
              line([(246, 214), (376, 214)], GREEN.dark, 4),
              flat(box(352, 256, 22, 8), INK, radius=4), badge(300, 178),
              flat(box(254, 268, 70, 44), GREEN.dark, radius=5),
              slats(266, 280, 46, 3, gap=10, colour=GREEN.light)),
    )  # fmt: skip


def _van_cab() -> tuple[str, ...]:
    return (
        piece("cab_door", panel([(386, 126), (462, 126, 12), (512, 214), (512, 338), (386, 338)],
                                GREEN),
              flat(box(387.5, 232, 123, 14), YELLOW.base),
              flat(box(396, 256, 24, 8), INK, radius=4),
              line([(398, 290), (470, 290)], GREEN.dark, 3)),
        piece("side_window", glass([(398, 140), (456, 140), (494, 210), (398, 210)], radius=8)),
        piece("roof", panel([(60, 108, 12), (440, 106, 16), (478, 130), (48, 130)], CREAM),
              line([(90, 118), (410, 118)], CREAM.dark, 3),
              flat([(402, 86, 8), (430, 86, 8), (436, 108), (396, 108)], ORANGE.base,
                   inked=True), line([(411, 92), (411, 102)], ORANGE.light, 4)),
        piece("windscreen", glass([(462, 126, 8), (486, 128, 8), (558, 208, 8), (512, 214)])),
        piece("nose", panel([(512, 214), (564, 208, 16), (632, 246, 30), (640, 338), (512, 338)],
                            GREEN),
              flat([(513, 232), (606, 232), (622, 246), (513, 246)], YELLOW.base),
              slats(530, 262, 40, 3, gap=9, colour=GREEN.dark),
              lamp(612, 270, 16), flat(box(596, 298, 40, 24), COAL.base, radius=6,
                                       inked=True), slats(604, 306, 24, 2, gap=8,
                                                          colour=METAL.base)),
    )  # fmt: skip


def _van_wheels() -> tuple[str, ...]:
    return (
        piece("bumper", panel([(500, 322), (654, 322, 12), (654, 356, 12), (500, 356)], COAL,
                              radius=8), flat(box(616, 332, 30, 10), ORANGE.base, radius=4)),
        piece("rear_wheel", wheel(150, 344, 56, WHITE, hub=GREEN.base)),
        piece("front_wheel", wheel(500, 344, 56, WHITE, hub=GREEN.base)),
    )  # fmt: skip
