//! Figures of the manifest and of the files side by side.

use std::collections::{BTreeMap, BTreeSet};

use hobble_terms::Table;
use hobble_terms::account::Account;
use hobble_terms::manifest::Manifest;

use super::totals::{Decisions, Totals, Turns};

/// One comparison: a figure by two ways of counting.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Comparison {
    /// What is counted.
    pub what: String,
    /// The two ways, and what each gives.
    pub ways: [(String, u64); 2],
}

impl Comparison {
    /// A comparison of two counts.
    pub fn new(what: &str, a: (&str, u64), b: (&str, u64)) -> Comparison {
        Comparison {
            what: what.to_owned(),
            ways: [a, b].map(|(name, n)| (name.to_owned(), n)),
        }
    }

    /// Whether the two agree.
    pub fn agrees(&self) -> bool {
        self.ways[0].1 == self.ways[1].1
    }
}

/// Comparisons being collected.
struct Collected(Vec<Comparison>);

impl Collected {
    fn add(&mut self, what: &str, a: (&str, u64), b: (&str, u64)) {
        self.0.push(Comparison::new(what, a, b));
    }

    /// A figure of the manifest and of a table.
    fn manifest(&mut self, what: &str, expected: u64, table: Table, found: u64) {
        self.add(what, ("manifest", expected), (table.name(), found));
    }
}

fn of(counts: &BTreeMap<String, u64>, name: &str) -> u64 {
    counts.get(name).copied().unwrap_or(0)
}

/// Compares what the manifest says with the files, and tables with each other.
pub(super) fn compare(manifest: &Manifest, totals: &Totals) -> Vec<Comparison> {
    let has = |table| manifest.parameters.tables.contains(&table);
    let written = manifest.account();
    let mut all = Collected(Vec::new());
    for (&table, &found) in &totals.rows {
        let expected = manifest.tables.get(&table).map_or(0, |size| size.rows);
        let what = format!("rows of {table}");
        all.add(&what, ("manifest", expected), ("files", found));
    }
    if has(Table::Games) {
        compare_games(&mut all, &written, &totals.account);
    }
    if has(Table::Skipped) {
        let (expected, found) = (written.repeats, totals.account.repeats);
        all.manifest("repeats left out", expected, Table::Skipped, found);
        let found = &totals.account.skipped;
        let reasons: BTreeSet<_> = written.skipped.keys().chain(found.keys()).collect();
        for reason in reasons {
            let expected = of(&written.skipped, reason);
            let found = of(found, reason);
            all.manifest(
                &format!("skipped: {reason}"),
                expected,
                Table::Skipped,
                found,
            );
        }
    }
    if has(Table::Games) && has(Table::Skipped) {
        compare_numbers(&mut all, &written, totals);
    }
    if has(Table::Moves) {
        compare_moves(&mut all, &written, &totals.moves);
    }
    compare_captures(&mut all, &has, totals);
    if has(Table::Turns) {
        compare_turns(&mut all, &has, &totals.turns);
    }
    if has(Table::Decisions) {
        compare_decisions(&mut all, &has, &totals.decisions);
    }
    if has(Table::Games) && manifest.players.is_some() {
        for (what, games, players) in totals.players.compared() {
            all.add(what, ("games", games), ("players", players));
        }
    }
    if has(Table::Sides) {
        compare_sides(&mut all, &written, totals);
    }
    if has(Table::Games) && has(Table::Moves) {
        all.add(
            "games whose plies are not 1, 2, 3 … to their number",
            ("expected", 0),
            ("moves", totals.broken_games),
        );
    }
    let observations = totals.account.observations;
    if has(Table::Games) && has(Table::Moves) && has(Table::Exposure) {
        all.add(
            "turns × pieces",
            ("moves, pieces counted down", totals.observations_of_moves),
            ("exposure", observations),
        );
    }
    if has(Table::Exposure) {
        let expected = written.observations;
        all.manifest("observations", expected, Table::Exposure, observations);
    }
    if has(Table::Spells) {
        for (end, &expected) in &written.spells {
            let found = of(&totals.account.spells, end);
            all.manifest(&format!("spells {end}"), expected, Table::Spells, found);
        }
    }
    all.0
}

fn compare_captures(all: &mut Collected, has: &dyn Fn(Table) -> bool, totals: &Totals) {
    if has(Table::Games) && has(Table::Moves) {
        all.add(
            "captured units lost, traded or sold",
            ("captures", totals.moves.captures),
            ("captured_fate", totals.captured.decided),
        );
        for (what, found) in [
            (
                "captured units whose net is not that of their run",
                totals.captured.wrong_nets,
            ),
            (
                "captured units lost or sold at another net",
                totals.captured.wrong_fates,
            ),
        ] {
            all.add(what, ("expected", 0), ("moves", found));
        }
    }
    if has(Table::Games) && has(Table::Moves) && has(Table::Spells) {
        all.add(
            "spells whose fate is not that of the captured unit",
            ("expected", 0),
            ("spells", totals.captured.other_fates),
        );
    }
}

fn compare_turns(all: &mut Collected, has: &dyn Fn(Table) -> bool, found: &Turns) {
    all.add(
        "turns neither sampled nor at a landmark",
        ("expected", 0),
        ("turns", found.unasked),
    );
    if has(Table::Games) && has(Table::Moves) {
        all.add(
            "turns whose fate is not that of the captured unit",
            ("expected", 0),
            ("turns", found.other_fates),
        );
    }
    if has(Table::Spells) {
        let landmarks = found.landmarks_of_spells;
        for (what, found) in [
            ("pieces at landmarks", found.landmarks),
            ("pieces at the same landmarks", found.same_landmarks),
        ] {
            all.add(what, ("spells", landmarks), ("turns", found));
        }
    }
}

fn compare_decisions(all: &mut Collected, has: &dyn Fn(Table) -> bool, found: &Decisions) {
    all.add(
        "chances to restrain whose counts contradict each other",
        ("expected", 0),
        ("decisions", found.contradictions),
    );
    if has(Table::Games) && has(Table::Moves) {
        all.add(
            "chances to restrain whose fate is not that of the captured unit",
            ("expected", 0),
            ("decisions", found.other_fates),
        );
    }
}

/// Compares the sums of `sides` with those of the other tables.
fn compare_sides(all: &mut Collected, written: &Account, totals: &Totals) {
    let rows = totals.rows.get(&Table::Sides).copied().unwrap_or(0);
    all.manifest("sides, two a game", 2 * written.kept, Table::Sides, rows);
    for (table, columns, equal, differs) in totals.sides.compared() {
        let first = differs.map_or(String::new(), |name| format!(" (not {name})"));
        let what = format!("sums of sides that {table} gives too{first}");
        all.add(&what, ("columns", columns), ("equal", equal));
    }
}

fn compare_games(all: &mut Collected, written: &Account, found: &Account) {
    for (what, expected, found) in [
        ("games kept", written.kept, found.kept),
        ("plies", written.plies, found.plies),
        ("captures", written.captures, found.captures),
        ("en passant", written.en_passant, found.en_passant),
        ("promotions", written.promotions, found.promotions),
        ("castlings", written.castlings, found.castlings),
        (
            "zero-move games",
            written.zero_move_games,
            found.zero_move_games,
        ),
        ("longest game", written.longest, found.longest),
        ("clock comments", written.clocks, found.clocks),
        ("evaluation comments", written.evals, found.evals),
        (
            "tag lines not readable",
            written.unread_tags,
            found.unread_tags,
        ),
        (
            "games before stray text",
            written.stray_texts,
            found.stray_texts,
        ),
    ] {
        all.manifest(what, expected, Table::Games, found);
    }
    for (result, &expected) in &written.results {
        let found = of(&found.results, result);
        all.manifest(&format!("result {result}"), expected, Table::Games, found);
    }
}

fn compare_numbers(all: &mut Collected, written: &Account, totals: &Totals) {
    all.add(
        "games read",
        ("manifest", written.read),
        ("games + skipped", totals.account.read),
    );
    // Each number from 1 to the last one once: so many games, and their sum fits.
    all.add(
        "games numbered 1, 2, 3 … without gap",
        ("rows", totals.numbered_games),
        ("last numbers", totals.last_numbers),
    );
}

fn compare_moves(all: &mut Collected, written: &Account, found: &Account) {
    for (what, expected, found) in [
        ("plies", written.plies, found.plies),
        ("captures", written.captures, found.captures),
        ("en passant", written.en_passant, found.en_passant),
        ("promotions", written.promotions, found.promotions),
        ("castlings", written.castlings, found.castlings),
    ] {
        all.manifest(what, expected, Table::Moves, found);
    }
}
