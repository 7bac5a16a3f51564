"""The plan for an absence: the command itself, in a process of its own, as it takes its time."""

import subprocess
import sys
from pathlib import Path
from typing import Any, Final

from flask import Flask, g, render_template, request

from advisor.cli.clock import iso
from advisor.errors import Refused
from advisor.page import forms
from advisor.page.told import Misused

LONGEST_S: Final = 180.0
DESIGN: Final = forms.Design(
    ("away",), "away:away", "Away", "Plan the visits",
    ("from", "until", "visits-on", "not-on", "visit-time", "minutes", "litres", "can"),
    ("sheet", "letter", "one-page-a-visit", "calendar", "phone", "json", "at", "us"))
_RUN: Final = "from advisor.cli.main import main; main()"


def register(app: Flask) -> None:
    """Add the page."""
    app.add_url_rule("/away", "away_page", away_page, methods=["GET", "POST"])


def away_page() -> str | tuple[Any, int]:
    """Ask for the days; show the plan as `advisor away` says it, or its refusal."""
    form = forms.form(DESIGN, known={})
    for each in form.fields:
        each.argument = False
    if request.method == "GET":
        return render_template("away.html", form=form, plan="")
    forms.filled(form, request.form)
    told = _run(form.words())
    if told.stdout.strip():  # a plan, or why none keeps every tree and what would
        return render_template("away.html", form=form, plan=told.stdout)
    last = told.stderr.strip().splitlines()[-1:] or ["The plan could not be made."]
    words = [word.strip("'\".,:") for word in last[0].split()]
    form.refused(Misused(last[0], next((w for w in words if w.startswith("--")), None)))
    return render_template("away.html", form=form, plan=""), 422


def _run(words: list[str]) -> "subprocess.CompletedProcess[str]":
    garden: Path = g.house.session.path
    at = iso(g.house.session.clock(), g.house.rounds.now().zone)
    line = [sys.executable, "-c", _RUN, "--garden", str(garden), words[0], "--at", at,
            *(word for word in words[1:] if word != "--")]
    try:
        return subprocess.run(line, capture_output=True, text=True, timeout=LONGEST_S,
                              stdin=subprocess.DEVNULL, check=False)
    except subprocess.TimeoutExpired:
        raise Refused("plan of the visits", f"not made in {LONGEST_S:.0f} s",
                      "fewer days or trees", "Make it at the computer: advisor away.") from None
