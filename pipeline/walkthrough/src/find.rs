//! A game of an archive by its number or id.

use hobble_archive::ArchiveError;
use hobble_archive::block::{Block, Blocks, Cut, Place, Sizes};
use hobble_archive::listing::Input;
use hobble_archive::stream::Stream;
use hobble_game::skip::Skip;
use hobble_terms::Reason;

use crate::Error;
use crate::follow::{Followed, Follower};

/// Which game of an archive is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// The game of a number, from 1, skipped games counted.
    Number(u64),
    /// The first game with an id (definitions, section 9).
    Id(u64),
}

/// Where a game stands in its archive.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct At {
    /// The archive's name.
    pub file: String,
    /// Number of the game, from 1.
    pub number: u64,
    /// Line at which it starts, from 1.
    pub line: u64,
}

/// Finds a game and follows it.
///
/// # Errors
///
/// Where the archive cannot be read, has no such game, or the game cannot be followed.
pub fn find(input: &Input, which: Which) -> Result<(At, Followed), Error> {
    let mut follower = Follower::new();
    let mut games = 0;
    let mut found = None;
    each_game(input, &mut |at, text| {
        games = at.number;
        let wanted = match which {
            Which::Number(number) => at.number == number,
            Which::Id(id) => text.is_ok_and(|text| follower.id(text) == Some(id)),
        };
        if wanted {
            found = Some(
                text.map_err(Clone::clone)
                    .and_then(|text| follower.follow(text))
                    .map_err(|skip| skipped(at, text.unwrap_or_default(), skip))
                    .map(|followed| (at.clone(), followed)),
            );
        }
        !wanted
    })?;
    let path = input.path().to_owned();
    found.unwrap_or(Err(match which {
        Which::Number(number) => Error::NoSuchNumber {
            path,
            number,
            games,
        },
        Which::Id(id) => Error::NoSuchId { path, id, games },
    }))
}

/// The text of a game in an archive.
#[derive(Clone, Debug)]
pub struct Text {
    /// Where it stands.
    pub at: At,
    /// The text, or why not all of it is there.
    pub text: Result<Vec<u8>, Skip>,
}

/// The texts of an archive in order, up to `most`, and how many games come after them.
///
/// # Errors
///
/// Where the archive cannot be read.
pub fn texts(input: &Input, most: usize) -> Result<(Vec<Text>, u64), Error> {
    let mut games = Vec::new();
    let mut more = 0;
    each_game(input, &mut |at, text| {
        if games.len() < most {
            games.push(Text {
                at: at.clone(),
                text: text.map(<[u8]>::to_vec).map_err(Clone::clone),
            });
        } else {
            more += 1;
        }
        true
    })?;
    Ok((games, more))
}

/// The error of a game that cannot be followed.
pub fn skipped(at: &At, text: &[u8], skip: Skip) -> Error {
    let before = &text[..skip.at.min(text.len())];
    Error::Skipped {
        file: at.file.clone(),
        number: at.number,
        line: at.line + memchr::memchr_iter(b'\n', before).count() as u64,
        skip,
    }
}

/// What is done with a game; false to stop.
type OnGame<'a> = dyn FnMut(&At, Result<&[u8], &Skip>) -> bool + 'a;

/// Calls `on_game` with each game until it returns false.
fn each_game(input: &Input, on_game: &mut OnGame<'_>) -> Result<(), Error> {
    let stream = Stream::open(input)?;
    let mut blocks = Blocks::new(stream, Sizes::default());
    loop {
        let block = match blocks.next_block() {
            Ok(Some(block)) => block,
            Ok(None) => return Ok(()),
            Err(source) => {
                return Err(Error::Archive(ArchiveError::Read {
                    path: input.path().to_owned(),
                    offset: blocks.offset(),
                    source,
                }));
            }
        };
        for place in &block.games {
            let at = At {
                file: input.name(),
                number: place.number,
                line: place.line,
            };
            if !on_game(&at, whole(&block, place).as_ref().map(|text| *text)) {
                return Ok(());
            }
        }
    }
}

/// The text of a game, if all of it is there.
fn whole<'a>(block: &'a Block, place: &Place) -> Result<&'a [u8], Skip> {
    match place.cut {
        Some(Cut::TooLong) => Err(Skip::whole(Reason::TooLong)),
        Some(Cut::EndOfRead) => Err(Skip::whole(Reason::CutOff)),
        None => Ok(&block.text[place.span.start..place.span.end]),
    }
}
