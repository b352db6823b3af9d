//! The dataset of a question: with rating bands as wide as it asks, and of a question that looks at some
//! games or sides only, with the rows of these.

use std::borrow::Cow;
use std::collections::BTreeMap;

use hobble_dataset::{ChosenSides, Dataset, PartId, SidesOfSource};
use hobble_terms::Table;
use rayon::prelude::*;
use shakmaty::Color;

use crate::error::AskError;
use crate::fields::QuestionFile;
use crate::filter::{self, Condition, Mask};

/// What looks at the rows of some sides of some games only.
pub trait Chooses {
    /// The dataset with the rows of the sides alone that are looked at.
    ///
    /// # Errors
    ///
    /// Where a source is not in the dataset, no side passes, or the table `sides` is missing or unreadable.
    fn chosen<'a>(&self, dataset: &'a Dataset) -> Result<Cow<'a, Dataset>, AskError>;

    /// Whether that asks the table `sides`.
    fn chooses(&self) -> bool {
        false
    }
}

impl<Q: QuestionFile> Chooses for Q {
    fn chosen<'a>(&self, dataset: &'a Dataset) -> Result<Cow<'a, Dataset>, AskError> {
        of_question(self, dataset)
    }

    fn chooses(&self) -> bool {
        self.chooses_sides()
    }
}

/// The dataset with a question's rating bands and with the rows of the sides alone that it looks at; the
/// dataset as it is where it has these bands and the question looks at all sides.
///
/// # Errors
///
/// Where a field asks for what no row can have, the tables' rating bands cannot be taken together to the
/// question's, a source is not in the dataset, no side passes, or the table `sides` is missing or unreadable.
pub fn of_question<'a>(
    question: &impl QuestionFile,
    dataset: &'a Dataset,
) -> Result<Cow<'a, Dataset>, AskError> {
    question.check()?;
    let dataset = dataset.of_bands(question.band_width())?;
    let (conditions, sources) = (question.of_sides(), question.sources());
    if conditions.is_empty() && sources.is_empty() {
        return Ok(dataset);
    }
    let said = question.sides_said().into_iter();
    let said: Vec<String> = said
        .map(|said| format!("{}: {}", said.name, said.words))
        .collect();
    let chosen = ChosenSides::of(choose(&dataset, &conditions, sources)?, said);
    let found = chosen.summary();
    if found.sides == 0 {
        return Err(AskError::NoSides {
            filters: found.filters.clone(),
        });
    }
    Ok(Cow::Owned(dataset.of_sides(chosen)))
}

/// The sides that meet these conditions, in these sources (or all).
fn choose(
    dataset: &Dataset,
    conditions: &[Condition<'_>],
    sources: &[String],
) -> Result<BTreeMap<String, SidesOfSource>, AskError> {
    let known: Vec<&str> = (dataset.summary().sources.iter())
        .map(|source| source.source.as_str())
        .collect();
    if let Some(unknown) = sources.iter().find(|name| !known.contains(&name.as_str())) {
        return Err(AskError::Override {
            name: "source",
            what: format!(
                "these tables have no source \"{unknown}\"; theirs are {}",
                known.join(", ")
            ),
        });
    }
    let wanted = |id: &PartId| sources.is_empty() || sources.contains(&id.source);
    let ids = dataset.part_ids(&[Table::Sides], &[])?;
    let ids: Vec<PartId> = ids.into_iter().filter(wanted).collect();
    let of_parts: Vec<SidesOfSource> = ids
        .par_iter()
        .map(|id| of_part(dataset, id, conditions))
        .collect::<Result<_, _>>()?;
    let mut by_source: BTreeMap<String, SidesOfSource> = BTreeMap::new();
    for (id, sides) in ids.into_iter().zip(of_parts) {
        by_source.entry(id.source).or_default().add(&sides);
    }
    Ok(by_source)
}

fn of_part(
    dataset: &Dataset,
    id: &PartId,
    conditions: &[Condition<'_>],
) -> Result<SidesOfSource, AskError> {
    let mut sides = SidesOfSource::default();
    let Some(part) = dataset.part(Table::Sides, id) else {
        return Ok(sides);
    };
    let mut columns = filter::columns(conditions);
    columns.extend(["game", "color"]);
    part.each(&columns, |rows| {
        let game = rows.fours("game")?;
        let black = rows.texts("color")?.any_of(["black"]);
        for row in Mask::of(rows, conditions)?.rows() {
            sides.insert(game[row], Color::from_white(!black.at(row)));
        }
        Ok::<_, AskError>(())
    })?;
    Ok(sides)
}
