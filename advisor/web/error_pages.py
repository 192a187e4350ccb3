"""Every error in the site's own form: one clear page, or one shape of JSON."""

from __future__ import annotations

from http import HTTPStatus

from flask import Flask, Response, jsonify, make_response, render_template, request
from werkzeug.exceptions import HTTPException

from advisor.errors import InputError, WhetruleError

WORDS = {
    400: ("The address cannot be read", "Start again from the form; it builds the address."),
    404: ("Nothing lies at this address", "It may have been mistyped, or the rule or steel was renamed."),
    405: ("This page only answers GET", "Open it as an ordinary address, without sending data."),
    413: ("Too much was sent", "Pages here take their inputs from the address only."),
    500: ("Something failed here", "It is not your input. Try another question, or tell who runs this site."),
}


def wants_json() -> bool:
    """Return whether the address is a JSON twin."""
    return request.path.endswith(".json")


def json_errors(error: WhetruleError, status: int = 400) -> Response:
    """Return errors in the one JSON shape."""
    response = jsonify(errors=[e.to_json() for e in error.parts])
    response.status_code = status
    return response


def error_page(status: int, title: str, message: str, hint: str) -> Response:
    """Return an error as page or JSON, as the address asks."""
    if wants_json():
        return json_errors(WhetruleError(message or title, hint=hint), status)
    page = render_template("error.html", status=status, title=title, message=message, hint=hint)
    return make_response(page, status)


def register(app: Flask) -> None:
    """Handle what the views do not."""

    @app.errorhandler(HTTPException)
    def http_error(error: HTTPException) -> Response:
        status = error.code or 500
        if status < 400:
            return make_response(error.get_response())
        title, hint = WORDS.get(status, (HTTPStatus(status).phrase, "Start again from the form."))
        response = error_page(status, title, "", hint)
        if status == 405:
            response.headers["Allow"] = "GET, HEAD, OPTIONS"
        return response

    @app.errorhandler(WhetruleError)
    def own_error(error: WhetruleError) -> Response:
        errors = error.parts
        status = 400 if all(isinstance(e, InputError) for e in errors) else 500
        if wants_json():
            return json_errors(error, status)
        title, hint = WORDS[status]
        message = " ".join(f"{e.place}: {e.message}." for e in errors)
        return error_page(status, title, message, errors[0].hint or hint)

    @app.errorhandler(Exception)
    def unforeseen(error: Exception) -> Response:
        # A bug: the log gets the traceback, the reader a page.
        app.logger.exception("unforeseen error on %s", request.path)
        title, hint = WORDS[500]
        return error_page(500, title, "", hint)
