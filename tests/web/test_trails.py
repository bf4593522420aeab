from __future__ import annotations

import re

from bench.core.entries import DevicePaired, Mounted
from tests.store.scenes import CODE, opening
from tests.strategies import chained
from tests.web.castroom import opened

DEVICE = "tablet-0d1e2f3a4b5c"
KEY = (
    "MFkwEwYHKoZIzj0CAQYIKoZIzj0DAQcDQgAEaxfR8uEsQkf4vOblY6RA8ncDfY"
    "Et6zOg9KE5RdiYwpZP40Li/hp/m47n60p8D54WK84zV2sxXs7LtkBoN79R9Q=="
)


def told(text: str) -> list[str]:
    return re.findall(r'id="e-([0-9a-f-]{36})"', text)


def sent(app):
    """What a tablet sent: a case opened and mounted, in its own chain."""
    made = list(chained(DEVICE, list(opening())))
    receipts = app.extensions["log"].append([stored for _, stored in made])
    assert {"stored"} == {one.verdict for one in receipts}
    return [entry for entry, _ in made]


def test_a_tablet_is_followed_in_its_own_order_with_the_way_to_each_case(app, supervisor, state):
    state(DevicePaired(DEVICE, "Tablet by the window", KEY), person="SUP")
    made = sent(app)

    text = supervisor.get(f"/trail/device/{DEVICE}").text

    assert [entry.id for entry in made[::-1]] == told(text)
    assert "Trail of Tablet by the window" in text
    assert f"/case/{CODE}/trail" in text


def test_a_tablet_is_reached_from_tablets_and_desk(app, supervisor, state):
    state(DevicePaired(DEVICE, "Tablet by the window", KEY), person="SUP")

    assert all(
        f'href="/trail/device/{DEVICE}"' in supervisor.get(path).text
        for path in ("/devices", "/desk")
    )


def test_the_bench_pc_has_a_trail_of_its_own(app, supervisor, state):
    state(Mounted(), case=opened(state))
    here = app.extensions["store"].device

    text = supervisor.get(f"/trail/device/{here}").text

    assert "Trail of the bench PC" in text
    assert app.extensions["log"].cursor_of(here).id in told(text)


def test_a_period_and_a_page_of_a_tablets_trail_are_asked_for_in_the_address(app, supervisor):
    sent(app)

    assert [] == told(supervisor.get(f"/trail/device/{DEVICE}?since=2031-01-01").text)
    assert [] != told(supervisor.get(f"/trail/device/{DEVICE}?page=7").text)


def test_what_a_device_sent_is_for_supervisors_and_no_device_is_not_found(
    app, technician, supervisor
):
    sent(app)

    assert 403 == technician.get(f"/trail/device/{DEVICE}").status_code
    assert 404 == supervisor.get("/trail/device/tablet-ffffffffffff").status_code
