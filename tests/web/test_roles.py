from __future__ import annotations

from urllib.parse import quote

import pytest

from bench.core.ids import case_code
from bench.web.roles import RANK, least_role_of

CODE = case_code(20_260_309)
SAMPLES = {
    "code": CODE, "kind": "mounted", "entry_id": "x", "initials": "TEC", "tag": "G25-1",
    "device": "tablet-00aa11bb22cc", "sha": "0" * 64,
}  # fmt: skip
UNSIGNED = ("/sync/kinds", "/sync/stating", "/sync/shell.json")
SIGNED_IN = ("reader", "technician", "supervisor")


def routes(app):
    for rule in app.url_map.iter_rules():
        for method in sorted(rule.methods & {"GET", "POST", "PUT", "PATCH", "DELETE"}):
            yield rule, method


def address(app, rule):
    given = {name: SAMPLES.get(name, sample_of(rule._converters[name])) for name in rule.arguments}
    with app.test_request_context():
        return quote(rule.build(given)[1], safe="/?&=%")


def sample_of(converter):
    items = getattr(converter, "items", None)
    return sorted(items)[0] if items else 1 if "Integer" in type(converter).__name__ else "x"


def test_every_route_declares_its_least_role(app):
    undeclared = {
        rule.endpoint
        for rule, _ in routes(app)
        if not least_role_of(app.view_functions[rule.endpoint])
    }

    assert undeclared == set()


def test_nothing_is_changed_by_get(app):
    changing = {rule.rule for rule, method in routes(app) if method not in ("GET", "POST")}

    assert changing == {"/sync/photo/<sha>"}


def signs(app, rule):
    """Say whether a paired device signs what is asked here: such a route knows no person."""
    return rule.rule.startswith("/sync/") and rule.rule not in UNSIGNED


def test_whoever_sits_at_a_browser_reaches_nothing_that_a_device_signs(app, supervisor):
    asked = [(rule, method) for rule, method in routes(app) if signs(app, rule)]
    for rule, method in asked:
        answer = supervisor.open(address(app, rule), method=method)

        assert (answer.status_code, answer.json["code"]) == (401, "unknown_device"), rule
        assert answer.json["words"]
        assert getattr(app.view_functions[rule.endpoint], "by_device", False)
    assert len(asked) == 5


def asked(client, method, path):
    return client.get(path) if method == "GET" else client.send(path)


def test_a_stranger_reaches_what_is_for_strangers_and_is_asked_for_a_pin_elsewhere(app, stranger):
    for rule, method in routes(app):
        if signs(app, rule):
            continue
        role = least_role_of(app.view_functions[rule.endpoint])
        answer = asked(stranger, method, address(app, rule))

        if role == "stranger":
            assert answer.status_code != 401, rule
        elif method == "GET":
            assert (answer.status_code, answer.location[:4]) == (303, "/who"), rule
        else:
            assert answer.status_code == 401, rule


@pytest.mark.parametrize("who", SIGNED_IN)
def test_each_role_reaches_what_it_may_and_nothing_above(app, who, request):
    initials = {"reader": "REA", "technician": "TEC", "supervisor": "SUP"}[who]
    for rule, method in routes(app):
        if signs(app, rule):
            continue
        role = least_role_of(app.view_functions[rule.endpoint])
        client = app.test_client().sit(initials)
        answer = asked(client, method, address(app, rule))

        if RANK[role] > RANK[who]:
            assert answer.status_code == 403, rule
        else:
            assert answer.status_code < 500, rule
            assert answer.status_code not in (401, 405), rule
            assert answer.status_code != 403 or rule.endpoint == "people.make_first", rule


def test_a_route_that_declares_no_role_is_closed_to_everybody(app, supervisor):
    app.add_url_rule("/forgotten-for-test", "forgotten", lambda: "open")

    assert supervisor.get("/forgotten-for-test").status_code == 403
