"""Room: the rig that everything else samples."""

from panelbeater.rig.backwards import turned_round
from panelbeater.rig.motion import RigMotion
from panelbeater.rig.plan_file import plan_schema, plan_to_json
from panelbeater.rig.plan_reading import plan_from_json
from panelbeater.rig.sample import blend_at, pose_at, sample_rig
from panelbeater.rig.vanishing import hide_stowed

__all__ = [
    "RigMotion",
    "blend_at",
    "hide_stowed",
    "plan_from_json",
    "plan_schema",
    "plan_to_json",
    "pose_at",
    "sample_rig",
    "turned_round",
]
