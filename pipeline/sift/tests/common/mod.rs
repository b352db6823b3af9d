//! Tables in which a claim is found and confirmed.

#![allow(dead_code, reason = "each test file uses its part")]

use std::ops::Range;
use std::path::Path;

use hand_made_tables::{Turn, column, manifest, no_spells, table, turns, write};
use hobble_dataset::Dataset;
use hobble_sift::split::{Half, of_player};

/// One claim.
pub const GRID: &str = "format = 1\nkinds = [\"rook\"]\nk = [2]\nturns = [2]\nwithin = 10\noutcome = \"lost\"\nmost_conditions = 0\nopen_at_most = 24\n\n[conditions]\n";

/// Surnames of one half.
fn surnames(half: Half) -> Vec<String> {
    let names = (0..).map(|number| format!("Quillmark{number}"));
    let of_half = names.filter(|name| of_player(name) == Some(half));
    of_half.take(8).collect()
}

/// A dataset in so many parts: in each half 640 games with a restrained rook, lost in one game of four, and a
/// free one, lost in one of sixteen. The table of games names the players alone, which is enough to sift.
pub fn dataset(dir: &Path, parts: u32) -> Dataset {
    some_parts(dir, "a", parts, 0..parts)
}

/// Some of so many parts of these games, as those of a source.
pub fn some_parts(dir: &Path, source: &str, parts: u32, some: Range<u32>) -> Dataset {
    let (mut rows, mut players) = (Vec::new(), Vec::new());
    for half in [Half::Search, Half::Locked] {
        let names = surnames(half);
        for at in 0..640usize {
            let game = rows.len() as u32 / 2;
            let fold = (at % 64) as u8;
            let base = Turn {
                game,
                fold,
                kind: "rook",
                ..Turn::restrained()
            };
            let lost = |piece: Turn, one_in: usize| {
                let ply = piece.ply + 6;
                if (at / 64 + at).is_multiple_of(one_in) {
                    piece.lost(ply)
                } else {
                    piece
                }
            };
            let free = Turn {
                game,
                fold,
                kind: "rook",
                safe: 8,
                safe_last: Some(8),
                landmark: true,
                ..Turn::default()
            };
            rows.push(lost(base, 4));
            rows.push(lost(free, 16));
            players.push([names[at % 8].clone(), names[(at + 1) % 8].clone()]);
        }
    }
    for (number, part) in (0..).zip(some.clone()) {
        let own = |game: &u32| game % parts == part;
        let games: Vec<u32> = (0..players.len() as u32).filter(own).collect();
        // The moves of a game in each half are the same.
        let moves = |game: &u32| u64::from(if *game == 640 { 5 } else { *game });
        let name = |side: usize| -> Vec<String> {
            let of_game = |game: &u32| players[*game as usize][side].clone();
            games.iter().map(of_game).collect()
        };
        let columns = vec![
            column("game", games.clone()),
            column("moves_id", games.iter().map(moves).collect::<Vec<_>>()),
            column("white", name(0)),
            column("black", name(1)),
        ];
        write(dir, "games", source, number, &table(columns));
        let rows: Vec<Turn> = rows.iter().filter(|row| own(&row.game)).cloned().collect();
        write(dir, "turns", source, number, &turns(&rows));
        write(dir, "spells", source, number, &no_spells());
    }
    manifest(dir, &[(source, some.len() as u32)]);
    Dataset::open(dir).unwrap()
}
