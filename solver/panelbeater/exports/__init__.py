"""The room that hands the finished rig over: frames, sheets, pictures and the page."""

from panelbeater.exports.alternates import (
    Choice,
    Entry,
    export_alternates_sheet,
)
from panelbeater.exports.compose import StillCamera, Window
from panelbeater.exports.contact_pdf import export_contact_pdf
from panelbeater.exports.contact_sheet import export_contact_sheet
from panelbeater.exports.exposure_pdf import export_exposure_pdf
from panelbeater.exports.faults import Fault, export_faults
from panelbeater.exports.files import export_json, write_whole
from panelbeater.exports.flat import FIRST_PIECE, label_frames, piece_masks
from panelbeater.exports.frames import export_frames, frame_lines, header_line
from panelbeater.exports.gltf import export_gltf
from panelbeater.exports.layers import export_layers
from panelbeater.exports.lottie import export_lottie
from panelbeater.exports.moving_picture import export_moving_picture
from panelbeater.exports.picture_sequence import (
    export_apng,
    export_gif,
    export_png_sequence,
)
from panelbeater.exports.preview import export_page
from panelbeater.exports.rig_svg import export_rig_svg
from panelbeater.exports.sheet import export_sheet
from panelbeater.exports.smil_svg import export_smil_svg
from panelbeater.exports.video import export_video
from panelbeater.exports.withheld import export_still_page, export_still_svg
from panelbeater.exports.words import FLASH_CAUTION, LIMB_NAMES

__all__ = [
    "FIRST_PIECE",
    "FLASH_CAUTION",
    "LIMB_NAMES",
    "Choice",
    "Entry",
    "Fault",
    "StillCamera",
    "Window",
    "export_alternates_sheet",
    "export_apng",
    "export_contact_pdf",
    "export_contact_sheet",
    "export_exposure_pdf",
    "export_faults",
    "export_frames",
    "export_gif",
    "export_gltf",
    "export_json",
    "export_layers",
    "export_lottie",
    "export_moving_picture",
    "export_page",
    "export_png_sequence",
    "export_rig_svg",
    "export_sheet",
    "export_smil_svg",
    "export_still_page",
    "export_still_svg",
    "export_video",
    "frame_lines",
    "header_line",
    "label_frames",
    "piece_masks",
    "write_whole",
]
