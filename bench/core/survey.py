"""A case seen with its laboratory: what the survey must cover, and what counts at the setting it has now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from bench.core.arch import ArchModel, arch_model
from bench.core.case import Case, Reading, Said
from bench.core.claims import Claim
from bench.core.entries import (
    ClaspWished,
    Exempted,
    GuidePlaneRead,
    GuidePlaneWished,
    IndirectRetainerWished,
    RestWished,
    SurveyLinesDrawn,
    TipChosen,
    TripodMarked,
    UndercutRead,
)
from bench.core.kennedy import (
    KennedyResult,
    classify,
    proximal_sites_facing_a_space,
    teeth_next_to_a_space,
)
from bench.core.lab import Lab
from bench.core.lines import FulcrumLine, fulcrum_line
from bench.core.policy import Policy
from bench.core.retention import Tip
from bench.core.surfaces import LETTERS, Site
from bench.core.teeth import THIRD_MOLAR, is_posterior, position_of

TOUCHING = ("both", "lip_short")


@dataclass(frozen=True, slots=True)
class CountedTip:
    """A chosen tip with the gauge reading that counts for it, or None with neither at the present setting."""

    tip: Reading[TipChosen]
    reading: Reading[UndercutRead] | None

    @property
    def site(self) -> Site:
        """Where the tip lies."""
        return Site(self.tip.body.tooth, self.tip.body.surface)

    @property
    def counts(self) -> bool:
        """Whether tip and reading both hold at the present setting and the gauge found its depth or more."""
        reading = self.reading
        if reading is None or not (self.tip.current and reading.current):
            return False
        return reading.body.contact in TOUCHING


@dataclass(frozen=True)
class Survey:
    """A case together with its laboratory; every figure is worked out once and kept."""

    case: Case
    lab: Lab

    @property
    def policy(self) -> Policy:
        """The lab's policy."""
        return self.lab.policy

    @cached_property
    def model(self) -> ArchModel:
        """The arch model of the cast."""
        return arch_model(self.case.arch)

    @cached_property
    def standing_teeth(self) -> tuple[int, ...]:
        """The teeth that stay in the mouth: present and not to be extracted."""
        going = set(self.case.teeth.extractions)
        return tuple(tooth for tooth in self.case.present if tooth not in going)

    @cached_property
    def kennedy(self) -> KennedyResult:
        """The Kennedy class of the case; third molars that carry a clasp or rest count as abutments."""
        teeth, case = self.case.teeth, self.case
        replaced = set(teeth.replaced)
        gone = (*teeth.missing, *teeth.extractions)
        return classify(
            case.arch,
            teeth.missing,
            present=case.present,
            abutment=[tooth for tooth in self.abutments if position_of(tooth) == THIRD_MOLAR],
            not_replaced=[tooth for tooth in gone if tooth not in replaced],
            replace=teeth.replaced,
            planned_extraction=teeth.extractions,
        )

    @cached_property
    def clasps(self) -> tuple[Said[ClaspWished], ...]:
        """The wished clasps."""
        return self.case.said(ClaspWished)

    @cached_property
    def rests(self) -> tuple[int, ...]:
        """The teeth on the cast with a planned rest."""
        wished = dict.fromkeys(said.body.tooth for said in self.case.said(RestWished))
        return tuple(tooth for tooth in wished if tooth in self.case.present)

    @cached_property
    def abutments(self) -> tuple[int, ...]:
        """The planned abutments: teeth of the wish list and of chosen tips that stay in the mouth."""
        planned = (ClaspWished, RestWished, GuidePlaneWished, IndirectRetainerWished, TipChosen)
        teeth = {said.body.tooth for kind in planned for said in self.case.said(kind)}  # type: ignore[attr-defined]
        return tuple(tooth for tooth in self.standing_teeth if tooth in teeth)

    @cached_property
    def plane_sites(self) -> tuple[Site, ...]:
        """The surfaces whose guide plane must be read: those facing a space to be replaced."""
        return tuple(proximal_sites_facing_a_space(self.kennedy))

    @cached_property
    def undercut_sites(self) -> tuple[Site, ...]:
        """The surfaces whose undercut must be read: of each chosen tip, and of each wish without one."""
        chosen = [counted.site for counted in self.tips]
        taken = {site.tooth for site in chosen}
        wished = [
            Site(s.body.tooth, s.body.surface) for s in self.clasps
            if s.body.tooth not in taken and s.body.tooth in self.standing_teeth
        ]  # fmt: skip
        return tuple(dict.fromkeys((*chosen, *wished)))

    @cached_property
    def line_teeth(self) -> tuple[int, ...]:
        """The teeth that need survey lines: posterior, next to a space, planned abutments; or the whole arch."""
        if self.policy.switches["whole_arch_lines"]:
            return self.standing_teeth
        wanted = {*teeth_next_to_a_space(self.kennedy), *self.abutments}
        return tuple(t for t in self.standing_teeth if is_posterior(t) or t in wanted)

    @cached_property
    def line_sites(self) -> tuple[Site, ...]:
        """Buccal and lingual of every tooth that needs survey lines."""
        return tuple(Site(tooth, letter) for tooth in self.line_teeth for letter in LETTERS)

    @cached_property
    def planes(self) -> Mapping[Claim, Reading[GuidePlaneRead]]:
        """Guide-plane readings that count, by claim."""
        return self.case.readings(GuidePlaneRead)

    @cached_property
    def undercuts(self) -> Mapping[Claim, Reading[UndercutRead]]:
        """Undercut readings that count, by claim."""
        return self.case.readings(UndercutRead)

    @cached_property
    def lines(self) -> Mapping[Claim, Reading[SurveyLinesDrawn]]:
        """Survey lines that count, by claim `("line", "34B")`."""
        return self.case.readings(SurveyLinesDrawn)

    @cached_property
    def tripod(self) -> Reading[TripodMarked] | None:
        """The tripod that counts, or None."""
        return self.case.readings(TripodMarked).get(("tripod",))

    def plane(self, site: Site) -> Reading[GuidePlaneRead] | None:
        """Return the guide-plane reading that counts for a site, or None."""
        return self.planes.get(("plane", *site))

    def undercut(self, site: Site) -> Reading[UndercutRead] | None:
        """Return the undercut reading that counts for a site, or None."""
        return self.undercuts.get(("undercut", *site))

    def undercut_at_zero(self, site: Site) -> Said[UndercutRead] | None:
        """Return the newest standing reading of a site made at a zero setting, or None."""
        return self._at_zero.get(site)

    @cached_property
    def _at_zero(self) -> Mapping[Site, Said[UndercutRead]]:
        zeros = {setting.id for setting in self.case.settings if setting.zero}
        return {
            Site(said.body.tooth, said.body.surface): said
            for said in self.case.said(UndercutRead)
            if said.entry.setting in zeros
        }

    @cached_property
    def tips(self) -> tuple[CountedTip, ...]:
        """Every tip chosen on a tooth of the cast with its reading, from the patient's right to the left."""
        place = {tooth: index for index, tooth in enumerate(self.case.present)}
        found = self.case.readings(TipChosen).values()
        on_cast = (reading for reading in found if reading.body.tooth in place)
        ordered = sorted(on_cast, key=lambda reading: place[reading.body.tooth])
        return tuple(
            CountedTip(tip, self.undercut(Site(tip.body.tooth, tip.body.surface)))
            for tip in ordered
        )

    @cached_property
    def counted_tips(self) -> tuple[CountedTip, ...]:
        """The tips that count for balanced retention: none on a tooth that is to be extracted."""
        staying = self.standing_teeth
        return tuple(one for one in self.tips if one.counts and one.site.tooth in staying)

    @cached_property
    def retentive(self) -> tuple[Tip, ...]:
        """The tips that count, as the retention rules take them."""
        return tuple(Tip(*counted.site) for counted in self.counted_tips)

    @cached_property
    def fulcrum(self) -> FulcrumLine:
        """The fulcrum line of the planned rests, or why there is none."""
        return fulcrum_line(self.model, self.kennedy, self.rests)

    @cached_property
    def exemption(self) -> Said[Exempted] | None:
        """The newest exemption made at the present setting, or None; it may not hold (rules.balance)."""
        here = self.case.now.id if self.case.now else None
        made = [said for said in self.case.said(Exempted) if said.entry.setting == here]
        return made[-1] if made else None
