"""The job at the bench, step by step, as a technician's finger does it: a lower cast, two clasps."""

from __future__ import annotations

from io import BytesIO

from PIL import Image
from playwright.sync_api import Locator, expect

from tests.browser.hand import Hand, say

MISSING = (36, 37, 46, 47)
CLASPS = ((35, "MB"), (45, "MB"))
SIDES_MM = {"d_ab_mm": "41.5", "d_ac_mm": "39", "d_bc_mm": "42.5"}
GPS, MAKE, ORIENTATION = 0x8825, 0x010F, 0x0112


def begin(hand: Hand, initials: str, pin: str) -> None:
    """Make the first supervisor at the first start."""
    hand.goto("/")
    for name, text in (("initials", initials), ("pin", pin), ("pin_again", pin)):
        hand.page.locator(f"#{name}").fill(text)
    hand.record(hand.button("people.start.go"))


def add_technician(hand: Hand, initials: str, pin: str) -> None:
    for name, text in (("initials", initials), ("pin", pin), ("pin_again", pin)):
        hand.page.locator(f"#{name}").fill(text)
    hand.choose("role", "technician")
    hand.record(hand.button("people.add_go"))


def open_case(hand: Hand, number: str) -> str:
    """Open a case and return its label code."""
    hand.goto("/case/new")
    hand.page.locator("#number").fill(number)
    hand.choose("arch", "lower")
    hand.choose("cast_kind", "master")
    hand.record(hand.button("cases.new.go"))
    return hand.page.url.split("/case/")[1].split("/")[0]


def receive(hand: Hand) -> None:
    """The cast, its disinfection, the prescription, the teeth and the wish list."""
    hand.submit_key("soundness", "sound")
    hand.submit_key("status", "disinfected")
    hand.page.locator("#reference").fill("Rx 77")
    hand.page.locator("#dated").fill("2026-03-02")
    hand.record(hand.button("steppages.receive.record_prescription"))
    teeth(hand)
    for tooth, surface in CLASPS:
        clasp(hand, tooth, surface)
    hand.open(wish_key(hand, "rest"))
    for tooth, _ in CLASPS:
        hand.tooth(tooth)
        hand.submit_key("seat", "mesial")
    hand.open(wish_key(hand, "indirect"))
    hand.tooth(43)
    hand.record(hand.button("steppages.wish.record"))


def teeth(hand: Hand) -> None:
    """Tap the missing teeth on the map."""
    for tooth in MISSING:
        hand.tooth(tooth)
    brush = hand.page.locator(".controls a.key", has_text=say("steppages.receive.brush.m_more"))
    hand.open(brush.first)
    for tooth in (38, 48):
        hand.tooth(tooth)
    hand.record(hand.button("steppages.receive.record_teeth"))


def wish_key(hand: Hand, wish: str) -> Locator:
    return hand.page.locator(".controls a.key", has_text=say(f"steppages.wish.{wish}")).first


def clasp(hand: Hand, tooth: int, surface: str) -> None:
    hand.tooth(tooth)
    hand.surface(surface)
    hand.choose("wanted_mm", "0.50")
    hand.choose("material", "wrought_wire")
    hand.number("arm_mm", "9")
    hand.record(hand.button("steppages.wish.record"))


def mount(hand: Hand) -> None:
    hand.record(hand.button("steppages.mount.record"))


def undercut(hand: Hand, tooth: int, surface: str) -> int:
    """Read an undercut and return how many taps it took."""
    hand.tooth(tooth)
    hand.surface(surface)
    hand.submit_key("contact", "both")
    return 3


def take_tilt(hand: Hand, ap_deg: str, lat_deg: str) -> None:
    """Tilt the table; what stood at the setting before becomes stale, so the page asks."""
    hand.number("ap_deg", ap_deg)
    hand.number("lat_deg", lat_deg)
    hand.page.locator("#instrument").fill("T1")
    hand.number("resolution_deg", "0.5")
    hand.record_sure(hand.button("steppages.tilt.take"))


def make_final(hand: Hand) -> None:
    said = say("steppages.tilt.make_final", setting="").replace("{setting}", "").strip()
    hand.record(hand.page.get_by_role("button", name=said))


def guide_planes(hand: Hand) -> None:
    """Read the light at every site the page leads to."""
    for _ in range(2):
        hand.choose("light", "gingival")
        hand.settle()
        hand.number("gap_mm", "0.3")
        hand.number("height_mm", "2.5")
        hand.record(hand.button("steppages.plane.record"))


def lines(hand: Hand) -> None:
    """Draw all required lines with one confirmed tap."""
    sweep = hand.page.locator("button[data-ask]", has_text=say("surveylines.required"))
    hand.record_sure(sweep.first)


def tripod(hand: Hand) -> None:
    """Mark the tripod: three distances, the turn, the four things declared."""
    for name, text in SIDES_MM.items():
        hand.number(name, text)
    hand.choose("sense", "clockwise")
    for name in ("one_tip_height", "arm_locked", "table_locked", "ringed"):
        hand.choose(name, "on")
    why = hand.page.locator('input[name="reason"]')
    if why.count():
        hand.choose("reason", say("steppages.why.changed"))
    hand.record(hand.button("tripod.record"))


def photo(hand: Hand) -> None:
    """Take the photo of the tripod with a tablet held on its side."""
    hand.page.locator("#photo").set_input_files(
        {"name": "IMG_1.JPG", "mimeType": "image/jpeg", "buffer": photo_from_a_tablet()}
    )
    hand.record(hand.button("tripod.keep"))


def photo_from_a_tablet() -> bytes:
    """Return a JPEG as a tablet on its side makes it: turned by EXIF, with its place and its maker."""
    picture = Image.linear_gradient("L").resize((1200, 900)).convert("RGB")
    exif = Image.Exif()
    exif[ORIENTATION] = 6
    exif[MAKE] = "Invented"
    exif.get_ifd(GPS).update({1: "N", 2: (52.0, 31.0, 12.0), 3: "E", 4: (13.0, 24.0, 18.0)})
    drawn = BytesIO()
    picture.save(drawn, "JPEG", exif=exif)
    return drawn.getvalue()


def tips(hand: Hand) -> None:
    """Choose both tips among the readings that touch."""
    for tooth, surface in CLASPS:
        hand.tooth(tooth)
        hand.surface(surface)
        hand.choose("material", "wrought_wire")
        hand.choose("reciprocation", "plate")
        hand.number("arm_mm", "9")
        hand.record(hand.button("retentionpage.choose"))


def confirm_all_but_the_tripod(hand: Hand) -> int:
    """Look at each stale finding on the page of the tilt, confirm it, and return how many there were."""
    stale = hand.page.locator("#controls li", has=hand.page.locator('form[action$="confirmed"]'))
    stale = stale.filter(has_not_text=say("steppages.finding.tripod_marked"))
    count = stale.count()
    for left in range(count, 0, -1):
        hand.record(stale.first.get_by_role("button"))
        expect(stale).to_have_count(left - 1)
    return count
