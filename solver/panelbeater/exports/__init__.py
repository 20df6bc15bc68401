"""The room that hands the finished rig over: frames, sheets, pictures and the page."""

from panelbeater.exports.compose import StillCamera, Window
from panelbeater.exports.contact_sheet import export_contact_sheet
from panelbeater.exports.files import export_json
from panelbeater.exports.flat import label_frames
from panelbeater.exports.frames import export_frames, frame_lines, header_line
from panelbeater.exports.moving_picture import export_moving_picture
from panelbeater.exports.preview import export_page
from panelbeater.exports.rig_svg import export_rig_svg
from panelbeater.exports.sheet import export_sheet

__all__ = [
    "StillCamera",
    "Window",
    "export_contact_sheet",
    "export_frames",
    "export_json",
    "export_moving_picture",
    "export_page",
    "export_rig_svg",
    "export_sheet",
    "frame_lines",
    "header_line",
    "label_frames",
]
