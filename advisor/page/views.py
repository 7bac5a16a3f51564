"""The pages that are read: the round, a tree, the recovering trees, the weather, the history."""

import io
from datetime import datetime, timedelta
from threading import Lock
from typing import Any, Final

from flask import Flask, Response, abort, current_app, g, render_template, request, session

from advisor.cli.clock import instant_words
from advisor.cli.words import pot_words
from advisor.jobs.morning import TreeVerdict
from advisor.page import forms
from advisor.page.guard import token
from advisor.page.house import House
from advisor.page.round_view import Worked, watered_today
from advisor.show.moments import dated, day
from advisor.show.reasons import Words, beside_words, reasons
from advisor.show.wording import verdict_words

HISTORY: Final = 50
FIRST: Final = 1  # the entry that started the garden is never taken back
CHART_DPI: Final = 135
CHART_COLOURS: Final = 64
CHART_DAYS: Final = 6
_DRAWING: Final = Lock()


def register(app: Flask) -> None:
    """Add the pages that are read."""
    for path, name, page in (
            ("/", "round_page", round_page), ("/tree", "tree_page", tree_page),
            ("/tree.png", "tree_chart", tree_chart),
            ("/recovering", "recovering_page", recovering_page),
            ("/weather", "weather_page", weather_page),
            ("/history", "history_page", history_page), ("/garden", "garden_page", garden_page),
            ("/token", "token_page", token_page), ("/worker.js", "worker", worker)):
        app.add_url_rule(path, name, page, methods=["GET"])


def asked_by_script() -> bool:
    """Whether the script of the page asks, and wants an answer to read."""
    return request.headers.get("X-Page") == "script"


def _now() -> Worked:
    house: House = g.house
    return house.rounds.now()


def round_page() -> str:
    """Show the round."""
    return render_template("round.html", view=_now().view, done=done())


def done() -> dict[str, Any] | None:
    """Give what was entered just now, where it still counts."""
    number = request.args.get("done", "")
    if not (number.isascii() and number.isdigit() and len(number) < 15):
        return None
    with g.house.session.reading() as garden:
        words = garden.words_of(int(number))
    return {"entry": int(number), "words": words[:1].upper() + words[1:]} if words else None


def token_page() -> dict[str, str]:
    """Give a script the token of this session."""
    return {"token": token(g.house.key, str(session["id"]))}


def worker() -> Response:
    """Give the script that keeps the last round, by https only."""
    if not g.house.secure:
        abort(404)
    return current_app.send_static_file("worker.js")


def chosen(worked: Worked) -> str:
    """Give the label of the tree that is asked for."""
    label = request.args.get("label", "")
    if label not in worked.knowledge.trees:
        abort(404)
    return label


def tree_page() -> str:
    """Show one tree: verdict, reasons, picture, and what can be entered of it."""
    worked = _now()
    label = chosen(worked)
    at, zone, tree = worked.at, worked.zone, worked.knowledge.trees[label]
    potting = worked.knowledge.potting_of(label, at)
    place = worked.knowledge.place_of(label, at)
    lines = [f"{tree.group}, {place.name}" if place else tree.group]
    if potting:
        lines.append(f"{pot_words(potting)}, mix {potting.mix}, since "
                     f"{instant_words(potting.at, zone)}")
    names = known_names(worked)
    made = {name: forms.form(forms.DESIGNS[name], label, known=names)
            for name in ("watered", "reading")}
    return render_template(
        "tree.html", label=label, name=tree.name or tree.group, lines=lines, done=done(),
        verdict=told_of(worked, label), watered=watered_today(worked.knowledge, label, at),
        drawn=potting is not None and worked.round is not None, forms=made)


def told_of(worked: Worked, label: str) -> dict[str, Any]:
    """Give what the round says of a tree: verdict, reasons, what else it asks for."""
    found = [tree for tree in (worked.round.trees if worked.round else ()) if tree.label == label]
    if not found or worked.round is None:
        return {"words": worked.refusal, "said": []}
    return _told(found[0], Words(worked.round))


def _told(tree: TreeVerdict, words: Words) -> dict[str, Any]:
    return {"words": verdict_words(tree, words), "label": tree.label, "name": tree.name,
            "said": [*reasons(tree, words), *(beside_words(each, words) for each in tree.also)]}


def tree_chart() -> Response:
    """Draw one tree as `advisor chart` does, small enough for a phone."""
    from advisor.cli.hours import read_sky
    from advisor.jobs.story import story
    from advisor.show.tree_chart import drawing, upright

    worked = _now()
    label = chosen(worked)
    span = timedelta(days=CHART_DAYS)
    with g.house.session.reading() as garden:
        knowledge = garden.knowledge(worked.at)
        sky = read_sky(garden, knowledge, worked.at)
    with _DRAWING:
        figure = upright(drawing(story(knowledge, sky, label, worked.at, span, span)))
        picture = io.BytesIO()
        figure.savefig(picture, format="png", dpi=CHART_DPI)
    return Response(_in_few_colours(picture), mimetype="image/png")


def _in_few_colours(picture: io.BytesIO) -> bytes:
    """Give a picture with a palette: a third of the bytes."""
    from PIL import Image

    small = io.BytesIO()
    with Image.open(picture) as drawn:
        drawn.convert("RGB").quantize(CHART_COLOURS, dither=Image.Dither.NONE).save(
            small, "PNG", optimize=True)
    return small.getvalue()


def recovering_page() -> str:
    """Show the recovering trees with what the round says of each."""
    worked = _now()
    told = []
    if worked.round is not None:
        words = Words(worked.round)
        for tree in worked.round.trees:
            if tree.recovery is not None:
                day = tree.recovery.day(worked.at, worked.zone)
                until = instant_words(tree.recovery.ends, worked.zone)
                told.append(_told(tree, words) | {"day": f"day {day}, until {until}"})
    return render_template("recovering.html", trees=told, refusal=worked.refusal)


def weather_page() -> str:
    """Show the weather in store as `advisor weather show` does."""
    from advisor.cli.weather_show import shown

    worked = _now()
    with g.house.session.reading() as garden:
        told = shown(garden, worked.at)
    at, zone = worked.at, worked.zone
    newest = told["newest"] and dated(datetime.fromisoformat(told["newest"]), at, zone)
    days = [each | {"day": day(datetime.fromisoformat(f"{each['date']}T12:00").replace(
        tzinfo=zone), at, zone)} for each in told["days"]]
    return render_template("weather.html", sources=told["sources"], newest=newest, days=days,
                           today=told["at"][:10])


def history_page() -> str:
    """Show the last entries, each with a way to take it back."""
    with g.house.session.reading() as garden:
        zone = garden.site().zone
        rows = [{"entry": each.id, "at": instant_words(each.made_at, zone), "words": each.words,
                 "stays": each.undone_at is not None or each.id == FIRST,
                 "undone": each.undone_at is not None} for each in garden.entries(HISTORY)]
    return render_template("history.html", rows=rows, done=done(),
                           back=request.args.get("back", "")[:300])


def garden_page() -> str:
    """Show places, mixes and trees, each with a way to change it."""
    from advisor.cli.add_mix import parts_words
    from advisor.cli.add_place import words as place_words

    known = _now().knowledge
    return render_template(
        "garden.html", done=done(),
        places=[(name, place_words(place)) for name, place in known.places.items()],
        mixes=[(name, parts_words(mix)) for name, mix in known.mixes.items()],
        trees=[(label, tree.name or tree.group) for label, tree in known.trees.items()
               if not known.is_gone(label)])


def known_names(worked: Worked) -> dict[str, list[str]]:
    """Give the names that a form may choose from."""
    return {"places": list(worked.knowledge.places), "mixes": list(worked.knowledge.mixes)}
