"""Layer: will the change read, what carries it, and what to do next?"""

from panelbeater.stress.case import Case, open_case
from panelbeater.stress.compare import Comparison, compare_plans, comparison_json
from panelbeater.stress.compare_page import write_comparison
from panelbeater.stress.ideas import MOST_IDEAS
from panelbeater.stress.report import Report, stress_plan
from panelbeater.stress.write import report_json, write_report

__all__ = [
    "MOST_IDEAS",
    "Case",
    "Comparison",
    "Report",
    "compare_plans",
    "comparison_json",
    "open_case",
    "report_json",
    "stress_plan",
    "write_comparison",
    "write_report",
]
