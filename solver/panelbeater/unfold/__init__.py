"""Room: gives the body its default action from fold to standing."""

from panelbeater.unfold.keys import check_poses, planned_poses
from panelbeater.unfold.limbs import open_limbs
from panelbeater.unfold.options import UnfoldOptions
from panelbeater.unfold.pose_file import PoseFile, read_pose
from panelbeater.unfold.rise import unfold_body

__all__ = [
    "PoseFile",
    "UnfoldOptions",
    "check_poses",
    "open_limbs",
    "planned_poses",
    "read_pose",
    "unfold_body",
]
