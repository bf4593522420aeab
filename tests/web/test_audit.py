from __future__ import annotations

import csv
import io
import json
import re

import pypdfium2
import pytest

from bench.core.audit.samples import Remount
from bench.core.audit.selection import Selection
from bench.core.audit.spread import LEAST
from bench.core.entries import FiguresLookedAt, PolicySet, SignalAcknowledged
from bench.store.audit import Audit
from bench.web import auditexport
from bench.web.personfigures import LOOK_MS
from tests.web.auditedlab import CASES, SURVEYORS, TECHNICIANS, audited
from tests.web.sentforms import shown

EACH = 14
PAGES = ("/audit", "/audit/gauges", "/audit/entries", "/audit.csv", "/audit.json", "/audit.pdf")


@pytest.fixture
def chain(app, state):
    return audited(app, state, EACH)


@pytest.fixture
def seen(chain, supervisor):
    """A supervisor whose look at figures by name is in the log."""
    assert 303 == look(supervisor).status_code
    return supervisor


def look(client, **asked):
    return client.send("/audit/look", asked)


def said(app, kind):
    return [entry for entry in app.extensions["log"].lab_entries() if isinstance(entry.body, kind)]


def rows(answer):
    return list(csv.DictReader(io.StringIO(answer.text)))


def links(text, part):
    return re.findall(rf'href="([^"]*{part}[^"]*)"', text.replace("&amp;", "&"))


def named(text):
    shown_there = text.split("<main")[1]
    return [
        name for name in TECHNICIANS if re.search(rf"<(?!option)[a-z]+[^>]*>{name}<", shown_there)
    ]


@pytest.mark.parametrize("path", PAGES)
def test_the_audit_is_for_supervisors(path, chain, supervisor, technician, reader, stranger):
    assert 200 == supervisor.get(path).status_code
    assert [403, 403, 303] == [who.get(path).status_code for who in (technician, reader, stranger)]


@pytest.mark.parametrize("path", ["/audit/look", "/audit/acknowledge"])
def test_nobody_else_looks_or_acknowledges(path, app, chain, technician, reader):
    answers = [
        who.send(path, {"key": "x", "reason": "y"}).status_code for who in (technician, reader)
    ]

    assert [403, 403] == answers
    assert [] == said(app, FiguresLookedAt) + said(app, SignalAcknowledged)


def test_an_empty_log_says_so_and_what_to_do(supervisor):
    text = supervisor.get("/audit").text

    assert "No re-mount is recorded" in text
    assert "Choose a longer time" in text
    assert "Nothing signals" in text
    assert "A signal is a reason to look" in text
    assert "Chance alone" not in text


def test_the_overview_counts_every_re_mount(chain, supervisor):
    text = supervisor.get("/audit").text

    assert f"All {CASES * EACH} re-mounts" in text
    assert ["By surveyor", "By way of checking"] == re.findall(r">(By [a-z ]+)</h2>", text)


def test_every_count_of_a_group_opens_as_many_entries(seen):
    text = seen.get("/audit").text
    counted = re.findall(r'<td data-label="Re-mounts"><a href="([^"]+)"[^>]*>(\d+)</a>', text)

    assert len(counted) == len(SURVEYORS) + 1 + len(TECHNICIANS) + CASES
    for href, count in counted:
        listed = seen.get(href.replace("&amp;", "&")).text
        assert f"{count} re-mounts, newest first" in listed


def test_every_point_opens_its_entry_in_the_trail_of_its_case(app, chain, supervisor):
    text = supervisor.get("/audit").text
    points = links(text, "/trail#e-")

    log = app.extensions["log"]
    assert len(points) > 150
    for href in set(points):
        code, entry = re.fullmatch(r"/case/(\w+)/trail#e-(.+)", href).groups()
        assert code == log.find(entry).case
    code, entry = re.fullmatch(r"/case/(\w+)/trail#e-(.+)", points[0]).groups()
    assert f'id="e-{entry}"' in supervisor.get(f"/case/{code}/trail").text


def test_every_plot_says_in_words_what_it_shows(seen):
    text = seen.get("/audit").text
    plots = re.findall(r'<svg class="plot audit-plot"[^>]*>', text)

    assert 5 == len(plots)
    assert all(re.search(r'role="group" aria-label="[A-Z][^"]{30,}"', plot) for plot in plots)


def test_an_address_narrows_by_time_surveyor_method_and_cast(app, chain, supervisor):
    audit = Audit(app.extensions["log"])
    newest = audit.newest(Selection(), 1)[0]
    for query, selection in {
        "surveyor=S2": Selection(surveyor="S2"), "method=tripod": Selection(method="tripod"),
        f"case={newest.case}": Selection(cast=newest.case), "from=2031-01-01": Selection(since="2031"),
        "to=2020-01-01": Selection(until="2020"), "reading=every": Selection(reading="every"),
    }.items():  # fmt: skip
        found = re.search(r"(\d+) re-mounts?[,<]", supervisor.get(f"/audit/entries?{query}").text)
        assert audit.count(selection) == int(found[1]), query


@pytest.mark.parametrize(
    "query", ["from=yesterday", "to=2026-02-30", "method=luck", "reading=middle", "case=ZZ", "page=-3",
              "from=0001-01-01&to=9999-12-31", "person=%00", "surveyor=" + "x" * 500]
)  # fmt: skip
def test_an_address_that_cannot_be_is_answered_in_words(query, chain, supervisor):
    for path in PAGES:
        assert 200 == supervisor.get(f"{path}?{query}").status_code


def test_single_persons_are_not_shown_before_a_look(chain, supervisor):
    for path in ("/audit", "/audit/gauges", "/audit/entries", "/audit?person=BB"):
        text = supervisor.get(path).text
        assert [] == named(text), path
        assert "Technician BB" not in text
    assert {""} == {row["technician"] for row in rows(supervisor.get("/audit.csv"))}
    assert "technician" not in json.loads(supervisor.get("/audit.json").text)


def test_the_address_of_one_person_alone_shows_nobody(chain, supervisor):
    text = supervisor.get("/audit/entries?person=BB").text

    assert f"{CASES * EACH} re-mounts, newest first" in text
    assert "Show the figures of BB" in text


def test_a_look_is_logged_shown_and_lets_names_be_seen(app, chain, supervisor):
    answer = look(supervisor)

    (entry,) = said(app, FiguresLookedAt)
    text = supervisor.get("/audit").text
    assert (303, "SUP", "") == (answer.status_code, entry.person, entry.body.whose)
    assert list(TECHNICIANS) == named(text)
    assert "SUP looked at everybody" in text


def test_a_look_at_one_person_shows_that_person_alone(app, chain, supervisor):
    look(supervisor, person="BB")

    text = supervisor.get("/audit?person=BB").text
    assert ["BB"] == named(text)
    assert "SUP looked at the figures of BB" in text
    assert [] == named(supervisor.get("/audit").text)


def test_a_look_holds_for_a_while_and_for_nobody_else(app, chain, hands, seen, state):
    hands.forward(LOOK_MS / 1000 + 1)
    seen.sit("SUP")

    assert [] == named(seen.get("/audit").text)
    assert 1 == len(said(app, FiguresLookedAt))


def test_looking_at_somebody_who_is_not_there_is_refused(app, chain, supervisor):
    answer = look(supervisor, person="ZZ")

    assert 422 == answer.status_code
    assert [] == said(app, FiguresLookedAt)


def test_the_policy_can_keep_figures_pooled(app, chain, seen, state):
    state(PolicySet("person_figures", "off"), person="SUP", reason="agreed with the staff")

    text = seen.get("/audit").text
    assert [] == named(text)
    assert "for all together only" in text
    assert 422 == look(seen).status_code
    assert 1 == len(said(app, FiguresLookedAt))


def test_a_look_leaves_the_board_and_the_lab_as_they_are(app, chain, supervisor):
    mark = app.extensions["log"].lab_mark()

    look(supervisor)

    assert mark == app.extensions["log"].lab_mark()
    assert 0 == app.extensions["log"].models.outdated()


def test_names_stand_in_order_and_nobody_is_ranked(seen):
    text = seen.get("/audit").text
    table = text.split('id="by-technician"')[1].split("</table>")[0]

    assert list(TECHNICIANS) == re.findall(r'<th scope="row" class="">(\w+)</th>', table)
    assert "Nobody is ranked" in text


def test_too_few_re_mounts_tell_a_count_and_what_is_missing(app, state, supervisor):
    audited(app, state, 1)

    text = supervisor.get("/audit?reading=every").text
    casts = text.split('id="by-cast"')[1]
    assert f"Not enough data: 1 re-mount, {LEAST - 1} more needed." in casts


def test_a_surveyor_that_drifts_is_in_the_list_with_its_entries(chain, supervisor):
    page = supervisor.get("/audit").text
    listed = page.split('id="signals"')[1].split("</section>")[0]

    assert re.search(r"Surveyor S2: \d+ re-mounts in a row drift front to back", listed)
    assert re.search(
        r"Chance alone would give about [\d.]+ among the \d+ re-mounts watched", listed
    )
    assert any("surveyor=S2" in href for href in links(listed, "/audit/entries"))


def test_what_speaks_of_one_person_is_told_with_the_names(chain, seen):
    listed = seen.get("/audit").text.split('id="signals"')[1].split("</section>")[0]

    assert "Technician BB: 95 of 100 re-mounts lie within" in listed
    assert "S1 (surveyor) was never checked" in listed


def first_form(page):
    return next(form for form in page.forms if form.action == "/audit/acknowledge")


def test_a_signal_is_acknowledged_with_a_remark(app, chain, supervisor):
    form = first_form(shown(supervisor.get("/audit")))

    answer = form.send(supervisor, reason="table screw tightened")

    (entry,) = said(app, SignalAcknowledged)
    text = supervisor.get("/audit").text
    assert (303, "table screw tightened") == (answer.status_code, entry.reason)
    assert form.value("key") == entry.body.key
    assert "1 signal was acknowledged" in text
    assert "Seen by SUP on" in text


def test_a_signal_without_a_remark_stays(app, chain, supervisor):
    form = first_form(shown(supervisor.get("/audit")))

    answer = form.send(supervisor, reason=" ")

    assert 422 == answer.status_code
    assert "The reason is missing" in answer.text
    assert [] == said(app, SignalAcknowledged)


def test_a_signal_that_is_not_there_is_not_acknowledged(app, chain, supervisor):
    answer = supervisor.send("/audit/acknowledge", {"key": "drift:surveyor:S9:x", "reason": "y"})

    assert 409 == answer.status_code
    assert "not there any more" in answer.text
    assert [] == said(app, SignalAcknowledged)


def test_the_csv_holds_every_re_mount_as_the_log_does(app, chain, seen):
    answer = seen.get("/audit.csv?reading=every")

    kept = list(Audit(app.extensions["log"]).every(Selection(reading="every")))
    read = [remount_from(row) for row in rows(answer)]
    assert answer.headers["Content-Type"].startswith("text/csv")
    assert kept == read


def remount_from(row):
    figures = {name: float(row[name]) for name in row if name.endswith("_deg")}
    flags = {name: row[name] == "1" for name in ("first", "last")}
    return Remount(**{**row, **figures, **flags})


@pytest.mark.parametrize(("of", "count"), [("gauges", 2 * CASES), ("calipers", 2 * CASES)])
def test_readings_that_were_repeated_come_as_csv_too(of, count, chain, seen):
    found = rows(seen.get(f"/audit.csv?of={of}"))

    assert count == len(found)
    assert {"AA", "BB"} == {row["person"] for row in found} or {"CC"} == {
        row["person"] for row in found
    }
    assert 404 == seen.get("/audit.csv?of=secrets").status_code


@pytest.mark.parametrize("asked", ["surveyor=S1", "method=scored_lines&reading=last", "person=AA"])
def test_an_export_holds_what_its_page_asks_for_and_no_more(chain, seen, asked):
    listed = seen.get(f"/audit/entries?{asked}").text

    told, found = seen.get(f"/audit.json?{asked}"), rows(seen.get(f"/audit.csv?{asked}"))

    whole = json.loads(told.text)["whole"]
    assert 0 < whole["count"] == len(whole["entries"]) == len(found)
    assert f"{whole['count']} re-mounts, newest first" in listed
    assert set(whole["entries"]) == {row["entry"] for row in found}


def test_the_exports_are_sent_piece_by_piece(chain, seen, monkeypatch):
    monkeypatch.setattr(auditexport, "IDS_AT_ONCE", 2)

    pieces = [list(seen.get(path).iter_encoded()) for path in ("/audit.json", "/audit.csv")]

    assert all(len(one) > 50 for one in pieces)
    assert max(len(piece) for one in pieces for piece in one) < 20_000


def test_readings_of_one_person_come_with_those_they_are_held_against(chain, seen):
    found = rows(seen.get("/audit.csv?of=gauges&person=AA"))

    assert {"AA", "BB"} == {row["person"] for row in found}
    assert [] == rows(seen.get("/audit.csv?of=gauges&person=CC"))


def test_the_json_holds_each_figure_with_the_entries_behind_it(app, chain, seen):
    document = json.loads(seen.get("/audit.json").text)

    kept = list(Audit(app.extensions["log"]).every(Selection()))
    assert sorted(one.entry for one in kept) == sorted(document["whole"]["entries"])
    for side, of in (("surveyor", "surveyor"), ("technician", "technician"), ("cast", "case")):
        for group in document[side]:
            wanted = [one.entry for one in kept if getattr(one, of) == group["name"]]
            assert (wanted, len(wanted)) == (group["entries"], group["count"])
    assert CASES == document["gauge_agreement"]["between_two"]["raw"]["subjects"]
    assert {"AA", "BB"} & {one["of"] for one in document["signals"]}


def test_gauge_agreement_shows_the_couples_and_opens_both_readings(app, chain, seen):
    text = seen.get("/audit/gauges").text

    readings = links(text, "/trail#e-")
    assert "9\u00a0of\u00a012" in text or "9 of 12" in text
    assert "AA and BB" in text
    assert "Tripod distances measured again" in text
    for href in readings:
        assert app.extensions["log"].find(href.split("#e-")[1]) is not None


def test_the_report_prints_the_figures(chain, seen):
    answer = seen.get("/audit.pdf")

    document = pypdfium2.PdfDocument(answer.data)
    text = "\n".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    assert "application/pdf" == answer.headers["Content-Type"]
    assert f"{CASES * EACH}" in text
    assert {"Audit of re-mounts", "By technician", "Page 1"} <= {
        words for words in ("Audit of re-mounts", "By technician", "Page 1") if words in text
    }


def test_the_report_leaves_names_out_before_a_look(chain, supervisor):
    document = pypdfium2.PdfDocument(supervisor.get("/audit.pdf").data)
    text = "\n".join(page.get_textpage().get_text_range() for page in document)
    document.close()

    assert "By technician" not in text
