//! The report on a league of claims.

use hobble_claim::confirmation::FALSE_SHARE;
use hobble_conditions::words;
use hobble_report::Made;
use hobble_report::columns::{ColumnText, Columns, Of};
use hobble_report::number::{capital, percent};
use hobble_report::plot::{Dot, Dots, Drawing, Row, Scale, ends};
use hobble_report::sections::{self, cell};
use hobble_report::{
    Block, Cell, Fact, Item, Plot, Report, Reported, Section, Table, Tidy, Tone, Unit, Why,
};
use hobble_statistics::Estimate;
use hobble_statistics::sources::BENJAMINI_HOCHBERG;

use crate::answer::{Entry, League, OfHalf};

/// Rows of the plot, at most.
const DRAWN: usize = 12;

impl Reported for League {
    fn report(&self) -> Report<'_> {
        Report {
            subject: "Training claims tried on one half of the games",
            title: format!("Which restrained pieces are {} more often?", self.outcome),
            sections: vec![
                found(self),
                table(self),
                halves(self),
                sections::cautions(&cautions(self)),
                sections::data(&self.dataset),
            ],
            made: Made::of(&self.hobble, &self.dataset.hobble, self.definitions),
            tidy: tidy(self),
            answer: self,
        }
    }

    fn columns() -> Vec<ColumnText> {
        columns().texts()
    }
}

fn found(league: &League) -> Section {
    let mut section = Section::new("found", "What was found");
    let lead = if league.opened == 0 {
        format!(
            "None of {} claims tried passed on the half of the games in which they were tried, so the other half was not opened.",
            words::count(league.tried)
        )
    } else {
        format!(
            "{} claims were tried on one half of the games and {} passed. {} of them were asked of the other half, which confirms {}.",
            words::count(league.tried),
            words::count(league.passed),
            words::count(league.opened),
            words::count(league.confirmed),
        )
    };
    section.paragraph(Tone::Lead, lead);
    if let Some(opening) = league.opening.filter(|opening| *opening > 1) {
        section.paragraph(
            Tone::Caution,
            format!(
                "The locked half had been opened {} before. It was no longer unseen: what it says counts for less each time.",
                words::counted(u64::from(opening - 1), "time")
            ),
        );
    }
    if !league.claims.is_empty() {
        section.block(Block::Plot(plot(league)));
    }
    section
}

fn plot(league: &League) -> Plot {
    let dot = |half: &OfHalf| {
        let interval = ends(Some(half.ratio.jackknife?));
        let value = half.ratio.value?;
        Some(Dot {
            value,
            interval,
            text: format!("{value:.2}"),
        })
    };
    let drawn: Vec<&Entry> = league.claims.iter().take(DRAWN).collect();
    let rows = drawn.iter().map(|entry| Row {
        label: entry.name.clone(),
        all: false,
        dots: vec![dot(&entry.search), dot(&entry.locked)],
        missing: "too few games".to_owned(),
    });
    let said: Vec<String> = drawn
        .iter()
        .map(|entry| {
            let value = entry.locked.ratio.value;
            let value = value.map_or_else(|| "too few".to_owned(), |value| format!("{value:.2}"));
            format!("{} {value}", entry.name)
        })
        .collect();
    Plot {
        name: "league".to_owned(),
        title: "Found on one half, asked of the other".to_owned(),
        words: format!("Times as often in the locked half: {}.", said.join("; ")),
        caption: "How many times as often as comparable free pieces, with 95% intervals: in the half in which the claim was found, and in the locked half. Figures of the first are chosen for being high; the second are not.".to_owned(),
        drawing: Drawing::Dots(Dots {
            series: vec!["found on".to_owned(), "locked half".to_owned()],
            rows: rows.collect(),
            scale: Scale::Ratio,
            axis: "times as often".to_owned(),
        }),
    }
}

fn table(league: &League) -> Section {
    let mut table = Table::new([
        "Claim",
        "Found on",
        "Locked half",
        "Lost, of",
        "Twins",
        "Beyond the side\u{2019}s other pieces",
        "Confirmed",
    ])
    .captioned(format!(
        "Times as often {} within {} moves as comparable free pieces, with 95% intervals. Twins: odds ratios of two pieces in one position, adjusted. Last but one: the claim\u{2019}s figure divided by that of another piece of the side lost. All but the first figure are of the locked half",
        league.outcome, league.within
    ));
    for entry in &league.claims {
        let ratio = |estimate: &Estimate| match estimate.jackknife {
            Some(_) => cell(Unit::Ratio, estimate),
            None => Cell::None(Why::TooFew, None),
        };
        let twins = entry.twins.first().map(|twins| &twins.odds_ratio);
        table.row(vec![
            Cell::text(entry.name.clone()),
            ratio(&entry.search.ratio),
            ratio(&entry.locked.ratio),
            Cell::Part(entry.locked.outcomes, entry.locked.turns),
            twins.map_or(Cell::None(Why::TooFew, None), ratio),
            ratio(&entry.others.beyond),
            Cell::text(stands(entry)),
        ]);
    }
    let mut section = Section::new("league", "The league");
    section.block(Block::Table(table));
    let pieces = league.claims.iter().map(|entry| Item {
        name: Some(entry.name.clone()),
        text: format!("{}.", capital(&entry.pieces)),
        remarks: Vec::new(),
    });
    section.block(Block::List(pieces.collect()));
    section.paragraph(
        Tone::Plain,
        format!(
            "Confirmed: the p-value of the locked half, adjusted for the claims asked of it, is {FALSE_SHARE} at most and its interval lies above 1. Each claim has a file that `hobble ask`, `page` and `handout` take; its page says what the locked half said."
        ),
    );
    section
}

fn stands(entry: &Entry) -> String {
    let mut stands = if entry.confirmed { "yes" } else { "no" }.to_owned();
    if entry.confirmed {
        match entry.twins_hold() {
            Some(true) => stands.push_str(", twins hold"),
            Some(false) => stands.push_str(", twins do not hold"),
            None => {}
        }
        if !entry.others.holds {
            stands.push_str(", the side\u{2019}s other pieces fall as often");
        }
    }
    stands
}

fn halves(league: &League) -> Section {
    let games = league.games;
    let mut section = Section::new("halves", "The two halves");
    let share = |part: u64| percent(part as f64 / games.games.max(1) as f64);
    let fact = |name: &str, part: u64| {
        Fact::new(name, format!("{} ({})", words::count(part), share(part)))
    };
    section.block(Block::Facts(vec![
        Fact::new("Games", words::count(games.games)),
        fact("Claims were tried on", games.search),
        fact("Locked", games.locked),
        fact("Left out: players of different halves", games.players_apart),
        fact("Left out: a player is not named", games.unnamed),
        fact(
            "Left out: the same moves in both halves",
            games.moves_in_both,
        ),
    ]));
    section.paragraph(
        Tone::Plain,
        "A player stands in the half that the lowest bit of a hash (XXH3-64) of the surname names, so that all spellings of a name with the same surname stand together. A game counts where both players stand in its half. So neither a person nor a game is in both.",
    );
    section
}

fn cautions(league: &League) -> Vec<String> {
    vec![
        format!(
            "Of the claims tried, {} have too few pieces in their half for an interval. p-values of the others are adjusted by Benjamini and Hochberg ({}): of the claims that pass, one in twenty is expected to be false.",
            words::count(league.tried - league.tested),
            BENJAMINI_HOCHBERG.place,
        ),
        "A claim is left out where a simpler one, with a part of its conditions, has as high a lower limit. Of the others those with the highest lower limits are asked of the locked half.".to_owned(),
        "A restrained piece is not attacked when it is restrained, so that being attacked is not a condition of the grid.".to_owned(),
        "What is confirmed is an association in played games, not proof of cause: twins and the side\u{2019}s other pieces say how far it goes.".to_owned(),
    ]
}

/// A line as the columns are made from it.
struct Line {
    claim: String,
    pieces: String,
    hash: String,
    half: &'static str,
    figure: String,
    outcomes: u64,
    turns: u64,
    estimate: Estimate,
    p: Option<f64>,
    adjusted_p: Option<f64>,
    confirmed: bool,
}

fn tidy(league: &League) -> Tidy {
    let mut lines = Vec::new();
    for entry in &league.claims {
        let line =
            |half: &'static str, figure: &str, estimate: Estimate, of: &OfHalf, p: bool| Line {
                claim: entry.name.clone(),
                pieces: entry.pieces.clone(),
                hash: entry.hash.clone(),
                half,
                figure: figure.to_owned(),
                outcomes: of.outcomes,
                turns: of.turns,
                estimate,
                p: of.p.filter(|_| p),
                adjusted_p: of.adjusted_p.filter(|_| p),
                confirmed: entry.confirmed,
            };
        let (search, locked) = (&entry.search, &entry.locked);
        lines.push(line("search", "ratio", search.ratio, search, true));
        lines.push(line("locked", "ratio", locked.ratio, locked, true));
        lines.push(line(
            "locked",
            "beyond others",
            entry.others.beyond,
            locked,
            false,
        ));
        for twins in &entry.twins {
            let figure = format!("twins adjusted for {}", twins.adjusted.name());
            lines.push(line("locked", &figure, twins.odds_ratio, locked, false));
        }
    }
    columns().tidy(&lines)
}

fn columns() -> Columns<Line> {
    let mut out = Columns::default();
    out.text("claim", "Name of the claim.", |line: &Line| {
        line.claim.clone()
    });
    out.text("pieces", "Its pieces in words.", |line| line.pieces.clone());
    out.text(
        "hash",
        "Hash of the claim, which the ledger knows it by.",
        |line| line.hash.clone(),
    );
    let half = "Half of the players: `search` or `locked`.";
    out.text("half", half, |line| line.half.to_owned());
    out.text("figure", "Name of the figure.", |line| line.figure.clone());
    let outcomes = "Turns of restrained pieces with the outcome, in that half.";
    out.count("outcomes", "turns", outcomes, |line| line.outcomes);
    let turns = "Turns of restrained pieces compared, in that half.";
    out.count("turns", "turns", turns, |line| line.turns);
    let what = Of::new("ratio", "not known, or too few pieces for an interval");
    out.value(what, |line| line.estimate);
    let tested = Of::new("probability", "not tested, or not the ratio");
    out.figure("p", tested, "p-value of the ratio.", |line| line.p);
    let adjusted = "The same, adjusted for the claims tried (Benjamini and Hochberg).";
    out.figure("adjusted_p", tested, adjusted, |line| line.adjusted_p);
    let confirmed = "Whether the locked half confirms the claim: `yes` or `no`.";
    out.text("confirmed", confirmed, |line| {
        if line.confirmed { "yes" } else { "no" }.to_owned()
    });
    out
}
