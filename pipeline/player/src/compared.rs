//! The player's figures beside those of the others: all games together, and by colour and opening.

use std::collections::BTreeSet;

use crate::Habits;
use crate::answer::{Group, Measure, PeersFound, PeersFrom, Section, TooFew};
use crate::count::{COUNTS, Counts};
use crate::figure::Wanted;
use crate::judge;
use crate::measures::{CHANCES, CHANCES_AGAINST, CLOCK_AND_EVALUATION, GROUPED, SECTIONS, TAKEN};
use crate::own::Own;
use crate::peer_counts::PeerCounts;
use crate::peers::{self, Others, Sides};
use crate::sides::{Cell, Stratum};
use crate::state::State;
use crate::tally::{TURNS, Turns, add};
use hobble_dataset::DatasetSummary;
use hobble_statistics::few::COVERED;
use hobble_terms::FOLDS;

/// What games without a code and without moves from the usual start are called.
const UNKNOWN_OPENING: &str = "no opening known";

/// What figures are worked out from.
pub struct Compared<'a> {
    /// Where the others come from.
    pub from: PeersFrom,
    /// The question.
    pub habits: &'a Habits,
    /// The player's games.
    pub own: &'a Own,
    /// Their strata, sorted.
    pub strata: &'a [Stratum],
    /// What was counted of the peers.
    pub peers: &'a PeerCounts,
    /// What was counted.
    pub state: &'a State,
}

impl Compared<'_> {
    fn stratum(&self, cell: &Cell) -> usize {
        self.strata.binary_search(&cell.stratum).unwrap_or(0)
    }

    fn sides(&self, of: impl Fn(&Cell) -> bool) -> Sides<'_> {
        let own = self
            .own
            .games
            .iter()
            .zip(self.state.own.games.values())
            .filter(|(game, _)| of(&game.cell))
            .map(|(game, counts)| (self.stratum(&game.cell), &counts.own))
            .collect();
        if self.from == PeersFrom::Opponents {
            let all = self.own.games.iter().zip(self.state.own.games.values());
            let opponents = all.filter(|(game, _)| of(&game.cell));
            let others = opponents.map(|(_, counts)| &counts.opponent);
            let others = Others::Opponents(others.collect());
            return Sides { own, others };
        }
        let mut peers = self.no_peers();
        for (cell, counts) in self.peers.cells.iter().filter(|(cell, _)| of(cell)) {
            let stratum = self.stratum(cell);
            for (&fold, counts) in &counts.folds {
                add(&mut peers[stratum][usize::from(fold)], &counts.0);
            }
        }
        Sides {
            own,
            others: Others::Apart(peers),
        }
    }

    /// Counts of peers by stratum and fold, before any are added.
    fn no_peers(&self) -> Vec<Vec<Counts>> {
        vec![vec![[0; COUNTS]; FOLDS]; self.strata.len()]
    }

    fn sections(&self) -> Vec<Section> {
        let all = self.sides(|_| true);
        let section = |(title, wanted): &(&str, &[Wanted])| Section {
            title: (*title).to_owned(),
            measures: wanted
                .iter()
                .map(|one| peers::measure(self.habits, one, &all))
                // Games without clocks or evaluations count for only some of them.
                .filter(|one| {
                    let may_lack = [CHANCES, CLOCK_AND_EVALUATION].contains(title);
                    !may_lack || one.you.base > 0 || one.peers.base > 0
                })
                .collect(),
        };
        let written = self.state.has_chances(self.peers);
        let mut wanted: Vec<_> = SECTIONS.iter().collect();
        wanted.retain(|(title, _)| written || ![CHANCES, CHANCES_AGAINST].contains(title));
        let sections = wanted.into_iter().map(section);
        sections.filter(|one| !one.measures.is_empty()).collect()
    }

    /// Where peers come from that are not given: other games of the same tables, where enough of
    /// the player's games have enough of them, and the opponents of the player's own games otherwise.
    pub fn source(&self) -> PeersFrom {
        let covered = self.own.games.len() as u64 - self.games_without_peers();
        match covered as f64 / self.own.games.len() as f64 >= COVERED {
            true => PeersFrom::SameTables,
            false => PeersFrom::Opponents,
        }
    }

    /// The player's games in strata with fewer sides of peers than an interval asks for.
    fn games_without_peers(&self) -> u64 {
        let mut sides = vec![0; self.strata.len()];
        for (cell, counts) in &self.peers.cells {
            sides[self.stratum(cell)] += counts.sides();
        }
        let games = self.own.games.iter();
        let few = |stratum: usize| sides[stratum] < self.habits.minimum_games.max(1);
        games.filter(|game| few(self.stratum(&game.cell))).count() as u64
    }

    /// All figures, judged: those of all games together, and those of parts of them together.
    pub fn judged(&self, sample: u32) -> (Vec<Section>, Vec<Group>) {
        let (mut sections, mut groups) = (self.sections(), self.groups());
        let measures = sections.iter_mut().flat_map(|one| &mut one.measures);
        self.judge(measures.collect(), sample);
        let measures = groups.iter_mut().flat_map(|one| &mut one.measures);
        self.judge(measures.collect(), sample);
        (sections, groups)
    }

    /// Whom the player is compared with; `names` are the spellings of the peers' names, `dataset` is
    /// what tables of their own were made from.
    pub fn peers_found(&self, names: u64, dataset: Option<DatasetSummary>) -> PeersFound {
        let opponents = self.from == PeersFrom::Opponents;
        PeersFound {
            from: self.from,
            sides: if opponents {
                self.own.games.len() as u64
            } else {
                self.peers.sides()
            },
            names,
            games_without: self.games_without_peers(),
            dataset,
        }
    }

    fn judge(&self, measures: Vec<&mut Measure>, sample: u32) {
        let games = self.own.games.len() as u64;
        // Beside opponents, what the player does to them is what they suffer: listed once.
        let mirrored = |one: &Measure| {
            one.name.starts_with("opponent_") || one.name.starts_with("chances_taken_against")
        };
        judge::judge(
            measures,
            self.from.word(),
            |one| judge::weight(one, games, sample),
            |one| self.from != PeersFrom::Opponents || !mirrored(one),
        );
    }

    /// Median number of turns of the others' spells, in the player's mix of strata.
    pub fn peers_median(&self) -> Option<u64> {
        if self.from == PeersFrom::Opponents {
            return median(&[(1.0, &self.state.own.opponent_turns)]);
        }
        let mut turns: Vec<Turns> = vec![[0; TURNS + 1]; self.strata.len()];
        for (cell, counts) in &self.peers.cells {
            add(&mut turns[self.stratum(cell)], &counts.turns);
        }
        let weighted: Vec<(f64, &Turns)> = turns
            .iter()
            .enumerate()
            .filter_map(|(stratum, turns)| {
                let spells: u64 = turns.iter().sum();
                let games = self
                    .own
                    .games
                    .iter()
                    .filter(|game| self.stratum(&game.cell) == stratum);
                (spells > 0).then(|| (games.count() as f64 / spells as f64, turns))
            })
            .collect();
        median(&weighted)
    }

    fn groups(&self) -> Vec<Group> {
        let mut groups = Vec::new();
        for (label, white) in [("White", true), ("Black", false)] {
            groups.extend(self.group("colour", label.to_owned(), |cell| cell.white == white));
        }
        let openings = self.own.games.iter().map(|game| game.cell.opening);
        let openings: BTreeSet<Option<usize>> = openings.collect();
        // Games of which no opening is known come last.
        let (with, without): (Vec<_>, Vec<_>) = openings.into_iter().partition(Option::is_some);
        for opening in with.into_iter().chain(without) {
            let label = opening.map_or_else(
                || UNKNOWN_OPENING.to_owned(),
                |group| self.own.openings.label(group),
            );
            groups.extend(self.group("opening", label, |cell| cell.opening == opening));
        }
        groups
    }

    fn group(&self, by: &str, label: String, of: impl Fn(&Cell) -> bool) -> Option<Group> {
        let mut sides = self.sides(of);
        // Norms are not kept by opening.
        let no_peers = by == "opening" && self.from == PeersFrom::Norms;
        if no_peers {
            sides.others = Others::Apart(self.no_peers());
        }
        let written = self.state.has_chances(self.peers);
        let wanted = GROUPED.iter();
        let measures: Vec<Measure> = wanted
            .filter(|one| written || one.name != TAKEN.name)
            .map(|one| peers::measure(self.habits, one, &sides))
            .map(|mut one| {
                if no_peers && one.too_few == Some(TooFew::NoPeers) {
                    one.too_few = Some(TooFew::NoOpenings);
                }
                one
            })
            .collect();
        (!sides.own.is_empty()).then(|| Group {
            by: by.to_owned(),
            label,
            games: sides.own.len() as u64,
            measures,
        })
    }
}

/// The least number of turns that half of the weighted spells do not go beyond.
pub fn median(weighted: &[(f64, &Turns)]) -> Option<u64> {
    let total: f64 = weighted
        .iter()
        .map(|(weight, turns)| weight * turns.iter().sum::<u64>() as f64)
        .sum();
    let mut sum = 0.0;
    (0..=TURNS)
        .find(|&turns| {
            sum += weighted
                .iter()
                .map(|(weight, counts)| weight * counts[turns] as f64)
                .sum::<f64>();
            total > 0.0 && sum * 2.0 >= total * (1.0 - 1e-12)
        })
        .map(|turns| turns as u64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn medians() {
        let mut turns = [0; TURNS + 1];
        turns[1] = 3;
        turns[2] = 1;
        turns[9] = 2;
        assert_eq!(median(&[(1.0, &turns)]), Some(1));
        let mut others = [0; TURNS + 1];
        others[4] = 1;
        assert_eq!(median(&[(1.0, &turns), (6.0, &others)]), Some(4));
        assert_eq!(median(&[(1.0, &[0; TURNS + 1])]), None);
        assert_eq!(median(&[]), None);
    }
}
