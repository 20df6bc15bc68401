"""Machines of the yard: fork truck and straddle carrier."""

from __future__ import annotations

from benchmarks.cases.drawn.pen import (
    BLUE,
    COAL,
    CREAM,
    INK,
    METAL,
    NAVY,
    ORANGE,
    RED,
    SLATE,
    STEEL,
    TEAL,
    WINE,
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
    ribs,
    ring,
    sheet,
    slats,
    wheel,
)

WOOD = "#d9a866"
WHEELS = (142, 248, 552, 658)
"""Where the carrier stands."""


def fork_truck() -> str:
    """A tall mast and thin forks on a small heavy body."""
    return sheet(
        740,
        470,
        (*_truck_cab(), *_truck_body(), *_truck_nose(), *_truck_mast(), *_truck_wheels()),
    )


def _planks() -> list[str]:
    return [
        piece(
            f"crate_{k + 1}",
            flat(box(566, y, 122, 44), WOOD, radius=3, inked=True),
            line([(578, y + 12), (640, y + 12)], "#b9813f", 3),
            line([(610, y + 30), (676, y + 30)], "#b9813f", 3),
            bolts([(574, y + 34), (680, y + 10)], "#7d5526"),
        )
        for k, y in enumerate((288, 332, 376))
    ]


def _truck_cab() -> tuple[str, ...]:
    return (
        piece("gas_bottle", panel(box(72, 196, 118, 50), METAL, radius=22),
              line([(104, 198), (104, 244)], RED.base, 9),
              line([(158, 198), (158, 244)], RED.base, 9)),
        piece("rear_pillar", panel([(168, 96), (196, 96), (180, 250), (146, 250)], COAL,
                                   radius=4), line([(180, 112), (166, 236)], COAL.light, 3)),
        piece("rear_window", glass([(194, 104), (292, 104), (292, 244), (180, 244)])),
        piece("seat", panel([(206, 168, 12), (232, 164, 12), (238, 214), (282, 214, 12),
                             (282, 246), (210, 246)], WINE),
              line([(220, 182), (226, 224)], WINE.light, 3)),
        piece("cab_door", panel(box(292, 98, 84, 278), ORANGE, radius=8),
              flat(box(302, 110, 64, 128), "url(#glass)", radius=6, inked=True),
              line([(316, 224), (356, 130)], "#e9fbfb", 7),
              flat(box(302, 256, 22, 8), INK, radius=4),
              flat(box(304, 288, 60, 66), ORANGE.dark, radius=5),
              slats(314, 302, 40, 4, gap=12, colour=ORANGE.light)),
        piece("front_pillar", panel([(376, 96), (400, 96), (440, 250), (412, 250)], COAL,
                                    radius=4), line([(390, 110), (422, 236)], COAL.light, 3)),
        piece("windscreen", glass([(376, 112), (386, 112), (420, 242), (376, 242)])),
    )  # fmt: skip


def _truck_body() -> tuple[str, ...]:
    return (
        piece("roof", panel([(160, 70, 14), (396, 70, 14), (412, 98, 6), (150, 98, 6)], ORANGE),
              slats(186, 81, 180, 1, colour=ORANGE.light)),
        piece("beacon", panel([(216, 42, 12), (248, 42, 12), (254, 72), (210, 72)], YELLOW,
                              shade=4), line([(226, 50), (226, 62)], "#fff7d6", 4)),
        piece("work_lamp", panel(box(396, 52, 34, 30), COAL, radius=6),
              flat(box(414, 57, 14, 20), "#ffeaa2", radius=4)),
        piece("counterweight", panel([(58, 262, 26), (152, 240), (152, 404), (96, 404, 16),
                                      (60, 352, 24)], SLATE, shade=7),
              hazard(70, 290, 76, 20), line([(76, 332), (140, 332)], SLATE.dark, 4),
              bolts([(84, 274), (138, 262)], SLATE.light)),
        piece("bonnet", panel([(152, 240), (292, 240), (292, 290), (152, 290)], ORANGE),
              line([(166, 254), (278, 254)], ORANGE.light, 3),
              slats(176, 268, 44, 2, gap=9)),
        piece("side_panel", panel(box(152, 290, 140, 86), ORANGE),
              flat(box(153.5, 304, 137, 12), CREAM.base), badge(252, 342),
              slats(170, 332, 48, 3, gap=11, colour=ORANGE.dark)),
    )  # fmt: skip


def _truck_nose() -> tuple[str, ...]:
    return (
        piece("step", panel(box(262, 372, 118, 40), COAL, radius=5),
              slats(276, 384, 90, 2, gap=12, colour=STEEL)),
        piece("front_cowl", panel([(376, 246), (436, 246, 10), (470, 300, 8), (470, 384),
                                   (376, 384)], ORANGE),
              flat([(377.5, 304), (468, 304), (468, 316), (377.5, 316)], CREAM.base),
              line([(392, 264), (428, 264)], ORANGE.light, 3)),
        piece("headlamp", lamp(448, 288, 15)),
    )  # fmt: skip


def _truck_mast() -> tuple[str, ...]:
    return (
        piece("lift_cylinder", panel(box(494, 130, 20, 250), METAL, radius=4),
              flat(box(497, 60, 14, 84), "#e2eaed", radius=3, inked=True)),
        piece("mast_outer", panel([(468, 36), (494, 36), (494, 410), (468, 410)], COAL, radius=4),
              line([(476, 48), (476, 396)], COAL.light, 3),
              bolts([(484, y) for y in (60, 140, 220, 300, 380)], STEEL)),
        piece("mast_inner", panel([(514, 36), (534, 36), (534, 410), (514, 410)], SLATE, radius=4),
              line([(520, 48), (520, 396)], SLATE.light, 3)),
        piece("mast_head", panel(box(462, 24, 78, 26), YELLOW, radius=5, shade=4),
              disc(480, 37, 6, INK), disc(520, 37, 6, INK)),
        piece("carriage", panel(box(506, 262, 42, 108), NAVY, radius=5),
              hazard(510, 270, 34, 14), bolts([(516, 300), (538, 300), (516, 356), (538, 356)],
                                              NAVY.light)),
        piece("backrest", panel(box(534, 156, 20, 110), YELLOW, radius=4),
              line([(544, 168), (544, 254)], YELLOW.dark, 4)),
        *_planks(),
    )  # fmt: skip


def _truck_wheels() -> tuple[str, ...]:
    return (
        piece("pallet", flat(box(560, 420, 134, 12), WOOD, radius=2, inked=True),
              line([(572, 426), (682, 426)], "#b9813f", 3)),
        piece("fork", panel([(546, 330), (562, 330), (562, 430), (704, 436), (704, 446),
                             (546, 448, 8)], METAL, radius=3, shade=4)),
        piece("mudguard", panel([(352, 392), (362, 346, 28), (386, 328, 18), (456, 328, 18),
                                 (480, 346, 28), (488, 392)], COAL)),
        piece("rear_wheel", wheel(176, 400, 50, YELLOW, hub=ORANGE.base)),
        piece("front_wheel", wheel(420, 390, 60, YELLOW, hub=ORANGE.base)),
    )  # fmt: skip


def straddle_carrier() -> str:
    """A portal on eight wheels with a box between its legs: sixty pieces, many slender."""
    return sheet(
        800,
        600,
        (
            *_carrier_load(),
            *_carrier_legs(),
            *_carrier_top(),
            *_carrier_cab(),
            *_carrier_sill(),
            *_carrier_wheels(),
        ),
        shared=f'<g id="wheel">{wheel(WHEELS[0], 532, 48, CREAM, hub=TEAL.base)}</g>',
    )


def _carrier_load() -> tuple[str, ...]:
    return (
        *(piece(f"hoist_{k + 1}", panel(box(x, 126, 12, 96), METAL, radius=2, shade=3))
          for k, x in enumerate((220, 330, 458, 568))),
        *(piece(f"box_{k + 1}", panel(box(x, 252, 70, 160), (WINE, ORANGE)[k in (2, 3)],
                                      radius=3),
                ribs(x + 14, 264, 134, 4, gap=14, colour=(WINE, ORANGE)[k in (2, 3)].dark))
          for k, x in enumerate(range(190, 610, 70))),
        *(piece(f"box_corner_{k + 1}", panel(box(x, y, 22, 20), METAL, radius=3, shade=3),
                disc(x + 11, y + 10, 4, INK))
          for k, (x, y) in enumerate(((182, 244), (596, 244), (182, 400), (596, 400)))),
        *(piece(f"spreader_{k + 1}", panel(box(x, 216, wide, 30), YELLOW, radius=4),
                hazard(x + 8, 224, wide - 16, 12))
          for k, (x, wide) in enumerate(((180, 150), (330, 140), (470, 150)))),
    )  # fmt: skip


def _carrier_legs() -> tuple[str, ...]:
    return (
        *(piece(f"leg_rear_{k + 1}", panel(box(112, y, 56, tall), TEAL, radius=4),
                line([(124, y + 12), (124, y + tall - 12)], TEAL.light, 4),
                bolts([(156, y + 12), (156, y + tall - 12)], TEAL.dark))
          for k, (y, tall) in enumerate(((126, 104), (230, 104), (334, 106)))),
        *(piece(f"leg_front_{k + 1}", panel(box(632, y, 56, tall), TEAL, radius=4),
                line([(644, y + 12), (644, y + tall - 12)], TEAL.light, 4),
                bolts([(676, y + 12), (676, y + tall - 12)], TEAL.dark))
          for k, (y, tall) in enumerate(((126, 104), (230, 104), (334, 106)))),
        piece("ladder", panel(box(80, 130, 26, 310), METAL, radius=3, shade=3),
              slats(85, 152, 16, 14, gap=20),
              panel(box(70, 118, 46, 16), COAL, radius=3, shade=3)),
    )  # fmt: skip


def _carrier_top() -> tuple[str, ...]:
    return (
        *(piece(f"beam_{k + 1}", panel(box(x, 80, wide, 48), TEAL, radius=5),
                flat(box(x + 2, 98, wide - 4, 10), CREAM.base),
                badge(x + wide / 2, 103) if k == 2 else "")
          for k, (x, wide) in enumerate(((92, 120), (212, 124), (336, 128), (464, 124),
                                         (588, 120)))),
        piece("engine_rear", panel([(140, 34, 10), (266, 34, 10), (272, 82), (134, 82)], ORANGE),
              slats(156, 48, 54, 3, gap=10), flat(box(226, 46, 30, 24), ORANGE.dark, radius=4),
              panel([(272, 14), (294, 14), (294, 82), (272, 82)], METAL, radius=6),
              line([(278, 26), (278, 72)], METAL.light, 3)),
        piece("winch_drum", disc(360, 60, 30, COAL.base, inked=True),
              ring(360, 60, 22, STEEL, 5), ring(360, 60, 14, STEEL, 3),
              disc(360, 60, 7, ORANGE.base)),
        piece("winch_drum_2", disc(440, 60, 30, COAL.base, inked=True),
              ring(440, 60, 22, STEEL, 5), ring(440, 60, 14, STEEL, 3),
              disc(440, 60, 7, ORANGE.base)),
        piece("cooler", panel(box(490, 40, 96, 42), SLATE, radius=6),
              slats(504, 52, 68, 3, gap=9, colour=SLATE.light)),
        piece("rail", panel(box(592, 48, 108, 34), YELLOW, radius=4),
              *(flat(box(x, 56, 18, 18), COAL.base, radius=2) for x in (602, 628, 654, 676))),
    )  # fmt: skip


def _carrier_cab() -> tuple[str, ...]:
    return (
        piece("cab", panel([(682, 118), (760, 118, 12), (772, 230), (742, 258, 10), (682, 258)],
                           ORANGE), flat(box(683.5, 220, 70, 10), CREAM.base)),
        piece("cab_window", glass([(692, 132), (724, 132), (724, 208), (692, 208)])),
        piece("windscreen", glass([(730, 132), (754, 132, 8), (764, 214), (730, 214)])),
        piece("cab_roof", panel([(676, 100, 8), (760, 100, 14), (768, 122), (676, 122)], CREAM,
                                shade=4), panel(box(738, 78, 34, 24), COAL, radius=6),
              flat(box(757, 82, 13, 16), "#ffeaa2", radius=4)),
    )  # fmt: skip


def _carrier_sill() -> tuple[str, ...]:
    return (
        *(piece(f"sill_{k + 1}", panel(box(x, 436, wide, 46), TEAL, radius=5),
                hazard(x + 10, 452, wide - 20, 14) if k in (0, 4) else
                line([(x + 14, 450), (x + wide - 14, 450)], TEAL.light, 4),
                bolts([(x + 12, 472), (x + wide - 12, 472)], TEAL.dark))
          for k, (x, wide) in enumerate(((84, 126), (210, 126), (336, 128), (464, 126),
                                         (590, 126)))),
        piece("battery_box", panel(box(310, 476, 84, 50), NAVY, radius=6),
              slats(326, 490, 52, 3, gap=10, colour=NAVY.light)),
        piece("cable_box", panel(box(406, 476, 84, 50), BLUE, radius=6),
              flat(box(430, 488, 36, 26), CREAM.base, radius=4, inked=True),
              line([(438, 501), (458, 501)], RED.base, 4)),
    )  # fmt: skip


def _carrier_wheels() -> tuple[str, ...]:
    return (
        *(piece(f"fork_leg_{k + 1}", panel([(x - 26, 476), (x + 26, 476), (x + 16, 540),
                                           (x - 16, 540)], SLATE, radius=5))
          for k, x in enumerate(WHEELS)),
        *(piece(f"wheel_{k + 1}", f'<use href="#wheel" x="{x - WHEELS[0]}"/>')
          for k, x in enumerate(WHEELS)),
        *(piece(f"fender_{k + 1}", panel([(x - 50, 514), (x - 40, 484, 20), (x + 40, 484, 20),
                                         (x + 50, 514)], YELLOW, radius=4, shade=4))
          for k, x in enumerate(WHEELS)),
        piece("headlamp", lamp(708, 458, 14)),
        piece("tail_lamp", panel(box(74, 446, 18, 28), NAVY, radius=5),
              flat(box(77, 452, 12, 16), RED.light, radius=3)),
    )  # fmt: skip
