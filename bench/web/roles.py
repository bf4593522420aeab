"""Which role each route asks for at least; a route that declares none is closed to everybody."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal, TypeVar

from flask import abort, current_app, redirect, request, url_for
from flask.typing import ResponseReturnValue

from bench.web import book, seats

Least = Literal["stranger", "reader", "technician", "supervisor"]
RANK: dict[str, int] = {"stranger": 0, "reader": 1, "technician": 2, "supervisor": 3}
FORM_BYTES = 256_000
PHOTO_BYTES = 32_000_000

View = TypeVar("View", bound=Callable[..., object])


def least(
    role: Least, *, quiet: bool = False, most_bytes: int = FORM_BYTES
) -> Callable[[View], View]:
    """Declare the least role of a view, below its route.

    A `quiet` view, such as one asked again and again by itself, does not put off the idle lock;
    `most_bytes` bounds the body it takes.
    """

    def declared(view: View) -> View:
        view.least_role = role  # type: ignore[attr-defined]
        view.quiet = quiet  # type: ignore[attr-defined]
        view.most_bytes = most_bytes  # type: ignore[attr-defined]
        return view

    return declared


def view_asked() -> Callable[..., object] | None:
    """Return the view this request goes to, or None when there is none."""
    return current_app.view_functions.get(request.endpoint or "")


def least_role_of(view: Callable[..., object]) -> Least | None:
    """Return the role a view declares, or None."""
    role: Least | None = getattr(view, "least_role", None)
    return role


def guard() -> ResponseReturnValue | None:
    """Let the request through to its view, or answer in the view's stead."""
    view = view_asked()
    if view is None:
        return None
    seats.recognise(used=not getattr(view, "quiet", False))
    role = least_role_of(view)
    if role is None:
        abort(403)
    return None if role == "stranger" else _verdict(role)


def _verdict(role: Least) -> ResponseReturnValue | None:
    if not book.lab().supervisors() and not seats.person():
        return redirect(url_for("people.start"), 303)
    if seats.person() is None:
        answer = _stranger()
        if answer is not None:
            return answer
    person = seats.person()
    if person is None or RANK[person.role] < RANK[role]:
        abort(403)
    return None


def _stranger() -> ResponseReturnValue | None:
    from bench.web import lock

    if request.method in ("GET", "HEAD"):
        return lock.sent_to_who()
    return lock.unlocked_in_passing()
