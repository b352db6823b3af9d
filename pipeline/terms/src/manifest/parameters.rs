//! What a scan was asked for: tables, cuts, sample, repeats, stripe.

use std::num::NonZeroU32;

use serde::{Deserialize, Serialize};

use crate::rating::Band;
use crate::table::Table;
use crate::time_class::TimeCuts;

/// What a scan was asked for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Parameters {
    /// Tables that are written.
    pub tables: Vec<Table>,
    /// Width of the tables' rating bands in points: [`Band::WIDTH`], or what an older program was given.
    pub band_width: u16,
    /// Estimated seconds below which a game is bullet, blitz, rapid.
    pub time_cuts: [u32; 3],
    /// Unpacked bytes in a block.
    pub block_bytes: usize,
    /// Blocks in a part.
    pub part_blocks: u64,
    /// The table `turns` holds one turn in so many, and every landmark turn. A manifest without
    /// it is older than that table.
    #[serde(default = "default_sample")]
    pub sample: NonZeroU32,
    /// What is done with games that repeat another one. Older programs kept them.
    #[serde(default, skip_serializing_if = "Repeats::are_kept")]
    pub repeats: Repeats,
    /// SHA-256 of the list of repeats that a pass over all archives found; none where the scan finds
    /// them itself.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub repeats_list: Option<String>,
    /// The pass in which that list was written: the hash in its first line. Not in manifests of older
    /// programs.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub repeats_pass: Option<String>,
    /// How players' names were replaced; the tables hold the names themselves where empty.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub pseudonyms: Option<Pseudonyms>,
    /// Which of the parts are written; all of them where empty.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub stripe: Option<Stripe>,
}

impl Default for Parameters {
    /// All tables, with the bounds and sizes that a scan has if it is asked for nothing else.
    fn default() -> Parameters {
        Parameters {
            tables: Table::ALL.to_vec(),
            band_width: Band::WIDTH,
            time_cuts: TimeCuts::default().0,
            block_bytes: 2 << 20,
            part_blocks: 32,
            sample: DEFAULT_SAMPLE,
            repeats: Repeats::LeaveOut,
            repeats_list: None,
            repeats_pass: None,
            pseudonyms: None,
            stripe: None,
        }
    }
}

/// How players' names were replaced in the tables.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pseudonyms {
    /// The keyed hash that stands for a name, and how much of it.
    pub method: String,
    /// By which the key is known again: a hash with it. The key itself is in no table.
    pub key_check: String,
}

/// What is done with games that repeat another one (definitions, section 11).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Repeats {
    /// They are counted as other games are.
    #[default]
    Keep,
    /// They are left out; the first game stays.
    LeaveOut,
}

impl Repeats {
    fn are_kept(&self) -> bool {
        *self == Repeats::Keep
    }

    /// Name on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Repeats::Keep => "keep",
            Repeats::LeaveOut => "leave-out",
        }
    }
}

/// A share of the parts of every archive, so that several machines can read one archive.
///
/// Parts are dealt out in turn. A part comes out the same whoever writes it, so the files of
/// all stripes together are those of one undivided scan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Stripe {
    /// Number of the stripe, from 0.
    pub index: u64,
    /// Number of stripes, at least 1.
    pub of: u64,
}

impl Stripe {
    /// Whether a part belongs to the stripe.
    pub fn has(self, part: u64) -> bool {
        part % self.of == self.index
    }
}

impl std::fmt::Display for Stripe {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}/{}", self.index, self.of)
    }
}

impl std::str::FromStr for Stripe {
    type Err = String;

    fn from_str(text: &str) -> Result<Stripe, String> {
        let stripe = text.split_once('/').and_then(|(index, of)| {
            Some(Stripe {
                index: index.parse().ok()?,
                of: of.parse().ok()?,
            })
        });
        stripe
            .filter(|stripe| stripe.index < stripe.of)
            .ok_or_else(|| "a stripe is written as 0/4 … 3/4".to_owned())
    }
}

/// One turn in so many is in the sample, if the user does not say otherwise.
pub const DEFAULT_SAMPLE: NonZeroU32 = NonZeroU32::new(16).unwrap();

fn default_sample() -> NonZeroU32 {
    DEFAULT_SAMPLE
}

/// What the user may change about the rows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cuts {
    /// Bounds of the time classes.
    pub time: TimeCuts,
    /// One turn in so many is in the sample.
    pub sample: NonZeroU32,
    /// What is done with repeats.
    pub repeats: Repeats,
    /// Whether repeats are looked for.
    pub looks_for_repeats: bool,
}

impl Default for Cuts {
    /// Those of a scan that is asked for nothing else, with repeats neither left out nor looked for.
    fn default() -> Cuts {
        Cuts {
            repeats: Repeats::Keep,
            looks_for_repeats: false,
            ..Parameters::default().cuts()
        }
    }
}

impl Parameters {
    /// Whether the scan looks for repeats: to leave them out, or to mark them in `sides`. A stripe
    /// would have to read the whole archive to mark them, if it has no list.
    pub fn looks_for_repeats(&self) -> bool {
        let is_known = self.stripe.is_none() || self.repeats_list.is_some();
        self.repeats == Repeats::LeaveOut || is_known && self.tables.contains(&Table::Sides)
    }

    /// Whether a part is among those written.
    pub fn has_part(&self, part: u64) -> bool {
        self.stripe.is_none_or(|stripe| stripe.has(part))
    }

    /// The cuts among the parameters.
    pub fn cuts(&self) -> Cuts {
        Cuts {
            time: TimeCuts(self.time_cuts),
            sample: self.sample,
            repeats: self.repeats,
            looks_for_repeats: self.looks_for_repeats(),
        }
    }
}
