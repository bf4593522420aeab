"""Answers that are compressed, and those that go as they are."""

from __future__ import annotations

import gzip
import json
import re

import pytest

TAKES = {"Accept-Encoding": "gzip, deflate, br"}
# What differs between two answers of one page: the masked token and ids of entries not yet made.
ANEW = re.compile(rb"[0-9a-f]{128}|[0-9A-HJKMNP-TV-Z]{26}")


def test_a_page_is_sent_compressed_to_a_browser_that_takes_it(technician):
    plain = technician.get("/about")
    answer = technician.get("/about", headers=TAKES)

    assert answer.headers["Content-Encoding"] == "gzip"
    assert int(answer.headers["Content-Length"]) == len(answer.data) < len(plain.data) / 2
    assert ANEW.sub(b"", plain.data) == ANEW.sub(b"", gzip.decompress(answer.data))


@pytest.mark.parametrize("takes", [{}, {"Accept-Encoding": "br"}, {"Accept-Encoding": "gzip;q=0"}])
def test_a_page_goes_as_it_is_to_a_browser_that_takes_nothing_else(technician, takes):
    answer = technician.get("/about", headers=takes)

    assert "Content-Encoding" not in answer.headers
    assert answer.text.startswith("<!doctype html>")


def test_a_page_says_that_it_depends_on_what_the_browser_takes(technician):
    assert "Accept-Encoding" in technician.get("/about").headers["Vary"]


def test_what_tablets_ask_for_is_compressed(technician):
    answer = technician.get("/sync/stating", headers=TAKES)

    assert answer.headers["Content-Encoding"] == "gzip"
    assert json.loads(gzip.decompress(answer.data)) == technician.get("/sync/stating").json


def test_a_page_that_refuses_is_compressed_too(technician):
    answer = technician.get("/nowhere", headers=TAKES)

    assert answer.status_code == 404
    assert b"<html" in gzip.decompress(answer.data)


def test_a_short_answer_goes_as_it_is(stranger):
    answer = stranger.get("/health", headers=TAKES)

    assert len(answer.data) < 1000
    assert "Content-Encoding" not in answer.headers


def test_a_picture_goes_as_it_is(stranger):
    answer = stranger.get("/icon/plain-192.png", headers=TAKES)

    assert answer.mimetype == "image/png"
    assert "Content-Encoding" not in answer.headers


def test_a_one_time_code_is_never_compressed(supervisor):
    answer = supervisor.send("/devices/code", headers=TAKES)

    assert answer.status_code == 200
    assert "no-transform" in answer.headers["Cache-Control"]
    assert "no-store" in answer.headers["Cache-Control"]
    assert "Content-Encoding" not in answer.headers
