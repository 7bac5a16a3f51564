"""The pages as a Flask application: what is let in, what goes out with every answer."""

import gzip
from collections.abc import Mapping
from datetime import timedelta
from typing import Any, Final

from flask import (
    Flask,
    Response,
    abort,
    current_app,
    g,
    redirect,
    render_template,
    request,
    session,
    url_for,
)
from werkzeug.exceptions import HTTPException
from werkzeug.wrappers import Response as Answered

from advisor.errors import Refused
from advisor.page import away, changes, views
from advisor.page.guard import PAIRED_DAYS, holds, token
from advisor.page.house import House
from advisor.page.told import is_of_file, new_identifier

MOST_BODY: Final = 64 * 1024
LONG: Final = 8 * 1024  # of a page that is packed [bytes]
FREE_FILES: Final = ("page.css", "icon.svg")  # reached before a phone is paired
HEADERS: Final[Mapping[str, str]] = {
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; "
        "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; "
        "base-uri 'none'; frame-ancestors 'none'"),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}
WHY: Final = {
    400: "This request cannot be read. Load the page again.",
    403: "This form is too old, or it is from another place. Load the page again and enter it "
         "once more; nothing was entered.",
    404: "There is no such page here.",
    405: "There is no such page here.",
    413: "That is more than a form holds: 64 kB at most. Nothing was entered.",
    500: "Something went wrong here. The page tells it in the terminal in which it was started; "
         "what was entered before is kept.",
}


def make_app(house: House) -> Flask:
    """Make the application."""
    app = Flask(__name__)
    app.config.update(
        SECRET_KEY=house.key, MAX_CONTENT_LENGTH=MOST_BODY, MAX_FORM_MEMORY_SIZE=MOST_BODY,
        MAX_FORM_PARTS=1000, SESSION_COOKIE_NAME="advisor", SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Strict", SESSION_COOKIE_SECURE=house.secure,
        PERMANENT_SESSION_LIFETIME=timedelta(days=PAIRED_DAYS), HOUSE=house)
    app.url_map.merge_slashes = False
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.before_request(_let_in)
    app.after_request(_sent_out)
    app.register_error_handler(HTTPException, _http_fault)
    app.register_error_handler(Refused, _refused)
    app.context_processor(_shared)
    app.add_url_rule("/pair", "pair", _pair, methods=["GET", "POST"])
    views.register(app)
    changes.register(app)
    away.register(app)
    return app


def _house() -> House:
    house: House = current_app.config["HOUSE"]
    return house


# --- what is let in ----------------------------------------------------------------------


def _let_in() -> Answered | None:
    """Check the Host, the pairing and the token, in this order."""
    house = _house()
    g.house = house
    if request.headers.get("Host", "").lower() not in house.hosts:
        abort(400)
    if "id" not in session:
        session["id"] = new_identifier()
        session.permanent = True
    if house.pairing and not session.get("paired") and not _free():
        if request.method == "GET" and request.endpoint != "static" and not views.asked_by_script():
            return redirect(url_for("pair"), 303)
        abort(401)
    if request.method == "POST":
        given = request.headers.get("X-Token") or request.form.get("token", "")
        if not holds(house.key, str(session["id"]), given):
            abort(403)
    return None


def _free() -> bool:
    if request.endpoint == "static":
        return (request.view_args or {}).get("filename") in FREE_FILES
    return request.endpoint == "pair"


def _pair() -> Response | Answered | tuple[str, int] | tuple[str, int, dict[str, str]]:
    """Pair a phone by the code that stands in the terminal."""
    pairing = _house().pairing
    if pairing is None or session.get("paired"):
        return redirect(url_for("round_page"), 303)
    if request.method == "GET":
        return render_template("pair.html", code=request.args.get("code", "")[:20], fault=""), 200
    who = request.remote_addr or ""
    if wait_s := pairing.wait_s(who):
        fault = f"Too many wrong codes. Try again in {wait_s} s."
        return render_template("pair.html", code="", fault=fault), 429, {
            "Retry-After": str(wait_s)}
    if not pairing.take(who, request.form.get("code", "")[:50]):
        fault = "That is not the code in the terminal. Look at it again."
        return render_template("pair.html", code="", fault=fault), 403
    session.clear()
    session.update(id=new_identifier(), paired=True)
    session.permanent = True
    return redirect(url_for("round_page"), 303)


# --- what goes out -----------------------------------------------------------------------


def _shared() -> dict[str, Any]:
    house = _house()
    return {"token": token(house.key, str(session.get("id", ""))),
            "identifier": new_identifier, "secure": house.secure}


def _sent_out(response: Response) -> Response:
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    if request.endpoint == "static":
        response.headers["Cache-Control"] = "private, max-age=3600"
    else:
        response.headers.setdefault("Cache-Control", "no-store")
    return _packed(response)


def _packed(response: Response) -> Response:
    """Pack a long page for those who can unpack it: a round of two hundred trees to a tenth."""
    if (response.mimetype == "text/html" and len(response.data) > LONG
            and request.accept_encodings.quality("gzip")):
        response.set_data(gzip.compress(response.data, 5))
        response.headers["Content-Encoding"] = "gzip"
        response.vary.add("Accept-Encoding")
    return response


def _http_fault(error: HTTPException) -> tuple[Any, int]:
    code = error.code or 500
    words = WHY.get(code, WHY[400])
    if code == 401:
        words = "This phone is not paired any more. Pair it again; what waits on it is kept."
    return _fault(words, code)


def _refused(refused: Refused) -> tuple[Any, int]:
    """Tell a refusal; where the file is in use or cannot be read, a phone keeps its tick."""
    return _fault(str(refused), 503 if is_of_file(refused) else 422)


def _fault(words: str, code: int) -> tuple[Any, int]:
    if views.asked_by_script():
        return {"fault": words}, code
    if code == 400 or code == 413:
        return f"{words}\n", code
    return render_template("fault.html", words=words), code
