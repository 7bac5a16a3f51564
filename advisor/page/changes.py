"""The pages that change something: each is a command, told once under its identifier."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Any, Final

from flask import Flask, Response, abort, g, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as Answered

from advisor.errors import Refused
from advisor.page import forms, views
from advisor.page.told import Answer, Wrong, happened_at, is_of_file, new_identifier, tell
from advisor.show.lists import listed

Given = str | Response | Answered | tuple[Any, int]

#: forms on pages of their own -> where the subject comes from
PAGES: Final = ("repotted", "moved", "tree", "place", "mix")
JUST_NOW: Final = timedelta(minutes=30)
TWICE: Final = "Entered twice in half an hour, so take one back if it was the same water:"


def register(app: Flask) -> None:
    """Add the pages that change something."""
    app.add_url_rule("/watered", "watered", watered, methods=["POST"])
    app.add_url_rule("/undo", "undo", undo, methods=["POST"])
    app.add_url_rule("/tell/<name>", "tell_of_tree", tell_of_tree, methods=["POST"])
    app.add_url_rule("/form/<name>", "form_page", form_page, methods=["GET", "POST"])


def watered() -> Given:
    """Enter a tick: one tree, or those ticked of a bench, or that nothing was watered."""
    labels = [label for each in _ticked() if (label := each.strip())]
    if request.form.get("nothing"):
        words = ["watered", "--nothing"]
    elif labels:
        words = ["watered", "--", *labels]
    else:
        raise Refused("ticks", "none", "at least one tree", "Tick those that were watered.")
    answer = _tell(words)
    if twice := _twice(labels):
        answer = replace(answer, text=f"{answer.text} {TWICE} {listed(twice)}.")
    return _answered(answer, url_for("round_page", done=answer.entry))


def _twice(labels: Sequence[str]) -> list[str]:
    """Give the trees that were entered as watered more than once just now."""
    now = g.house.session.clock()
    with g.house.session.reading() as garden:
        twice: list[str] = garden.watered_twice(labels, now - JUST_NOW, now)
    return twice


def _ticked() -> list[str]:
    if request.form.get("tree"):
        return [request.form["tree"]]
    if request.form.get("listed"):
        return request.form.get(f"due-{request.form['listed']}", "").split("\n")
    return request.form.getlist(f"of-{request.form.get('bench', '')}")


def tell_of_tree(name: str) -> Given:
    """Enter a watering with its litres, or a reading, from the page of a tree."""
    label = request.form.get("label", "")
    if name not in ("watered", "reading"):
        abort(404)
    if label.strip() == "":
        abort(400)
    form = forms.filled(forms.form(forms.DESIGNS[name], label, known={}), request.form)
    return _told(form, url_for("tree_page", label=label))


def undo() -> Given:
    """Take an entry back; one taken back already stays so."""
    number = request.form.get("entry", "")
    if not (number.isascii() and number.isdigit() and len(number) < 15):
        abort(400)
    back = url_for("round_page") if request.form.get("from") == "round" else None
    text = "Taken back already."
    with g.house.session.reading() as garden:
        counts = garden.words_of(int(number)) is not None
    if counts:
        text = _tell(["undo", "--", number]).text
    return _answered(Answer(text, None), back or url_for("history_page", back=text))


def form_page(name: str) -> Given:
    """Show a form, or enter it; refused, it comes back as it was typed."""
    if name not in PAGES:
        abort(404)
    worked = g.house.rounds.now()
    subject = request.values.get("subject") or None
    known = worked.knowledge
    records: Any = {"tree": known.trees, "place": known.places, "mix": known.mixes}.get(name, {})
    now = records.get(subject)
    if name in ("repotted", "moved") and subject not in known.trees:
        abort(404)
    form = forms.form(forms.DESIGNS[name], subject, known=views.known_names(worked), now=now)
    if request.method == "GET":
        return _shown(form, name)
    forms.filled(form, request.form)
    back = url_for("tree_page", label=subject) if name in ("repotted", "moved") else url_for(
        "garden_page")
    return _told(form, back)


def _told(form: forms.Form, back: str) -> Given:
    """Tell a form; a refusal is shown at its field."""
    try:
        answer = _tell(form.words())
    except (Refused, Wrong) as refusal:
        if isinstance(refusal, Refused) and is_of_file(refusal) and views.asked_by_script():
            raise
        form.refused(refusal if isinstance(refusal, Refused) else refusal.told)
        if views.asked_by_script():
            return {"fault": str(refusal)}, 422
        name = next(name for name, each in forms.DESIGNS.items() if each is form.design)
        return _shown(form, name), 422
    if views.asked_by_script():
        return _answered(answer, back)
    return render_template("told.html", text=answer.text, entry=answer.entry, back=back)


def _shown(form: forms.Form, name: str) -> str:
    action = (url_for("form_page", name=name) if name in PAGES
              else url_for("tell_of_tree", name=name))
    return render_template("form.html", form=form, action=action)


def _tell(words: Sequence[str]) -> Answer:
    now = g.house.session.clock()
    return tell(g.house.session, words, request.form.get("identifier") or new_identifier(),
                happened_at(now, request.form.get("ago")))


def _answered(answer: Answer, back: str) -> Given:
    if views.asked_by_script():
        return {"text": answer.text, "entry": answer.entry, "again": answer.again}, 200
    return redirect(back, 303)
