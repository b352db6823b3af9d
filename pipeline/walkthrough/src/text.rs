//! A walkthrough for the terminal.

use std::fmt::Write as _;

use hobble_report::number::capital;
use hobble_report::plain_short;
use hobble_terms::kind::unit_name;

use crate::Walkthrough;
use crate::lines::Line;
use crate::moments::Rule;
use crate::words::{side, turns};

/// A walkthrough as plain text.
pub fn text(walkthrough: &Walkthrough) -> String {
    let mut out = String::new();
    let heading = &walkthrough.game.heading;
    let [white, black] = heading.players().map(plain_short);
    let _ = writeln!(out, "{white} \u{2013} {black}  {}", heading.result.name());
    let about: Vec<String> = [&heading.event, &heading.date, &heading.round]
        .into_iter()
        .flatten()
        .map(|text| plain_short(text))
        .collect();
    if !about.is_empty() {
        let _ = writeln!(out, "{}", about.join(", "));
    }
    let _ = writeln!(out, "\nThe moves that mattered\n");
    if walkthrough.moments.is_empty() {
        let _ = writeln!(out, "No move of this game meets one of the rules.");
    }
    for moment in &walkthrough.moments {
        let rules: Vec<&str> = moment.rules.iter().copied().map(Rule::name).collect();
        let _ = writeln!(out, "{}: {}\n", rules.join("; "), moment.text);
    }
    let _ = writeln!(
        out,
        "The pieces (held: at most {} safe squares)\n",
        walkthrough.k
    );
    for line in &walkthrough.lines {
        piece(&mut out, line);
    }
    for beside in &walkthrough.beside {
        let _ = writeln!(
            out,
            "\n{}\n{}\n({}; {})",
            beside.title, beside.verdict, beside.figure, beside.rung
        );
    }
    moves(&mut out, walkthrough);
    out
}

fn piece(out: &mut String, line: &Line) {
    let _ = writeln!(
        out,
        "{} {} {} {}",
        side(line.color),
        unit_name(line.kind),
        if line.birth == 0 { "from" } else { "made on" },
        line.first
    );
    for stretch in &line.stretches {
        let _ = writeln!(
            out,
            "    {:<10}  {}: {}; {}",
            stretch.state.name(),
            turns(stretch.turns),
            stretch.began,
            stretch.ended
        );
    }
    let _ = writeln!(out, "    {}", capital(line.fate.name()));
}

fn moves(out: &mut String, walkthrough: &Walkthrough) {
    let game = &walkthrough.game;
    let _ = writeln!(
        out,
        "\n{:<14}{:>6}{:>6}{:>15}{:>15}",
        "move", "took", "gave", "White's scope", "Black's scope"
    );
    let [white, black] = game.positions[0].scope;
    let _ = writeln!(
        out,
        "{:<14}{:>6}{:>6}{white:>15}{black:>15}",
        "start", "", ""
    );
    for (played, position) in game.plies.iter().zip(&game.positions[1..]) {
        let [white, black] = position.scope;
        let _ = writeln!(
            out,
            "{:<14}{:>6}{:>6}{white:>15}{black:>15}",
            played.label, played.facts.taken, played.facts.given
        );
    }
}
