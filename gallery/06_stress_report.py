"""Stress report: will the change read, what carries it, and what to do next?"""

from pictures import budget, folder_of, photograph

import panelbeater
from panelbeater.stress import open_case, stress_plan, write_report

folder = folder_of(__file__)
shot = panelbeater.plan(*panelbeater.demo_drawings(), frames=48, budget=budget())
out = shot.write(folder / "out")

# On the command line: panelbeater stress out
report = stress_plan(open_case(out), workers=1)
page, _ = write_report(report, out)
photograph(page, folder / "report.png", height=1330)
