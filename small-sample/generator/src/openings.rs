//! A small book of first moves in everybody's use, and their ECO codes.
//! Moves and codes are from memory: common practice, no source.

use shakmaty::san::San;
use shakmaty::{Chess, Move, Position};

use crate::chance::Chance;

/// How often it is chosen, its code, its moves.
type Line = (u32, &'static str, &'static str);

/// Each line's code is that of the line itself, not of what may come later.
const LINES: &[Line] = &[
    (1, "A00", "g3 d5 Bg2"),
    (1, "A01", "b3 e5 Bb2"),
    (1, "A02", "f4 d5"),
    (2, "A04", "Nf3"),
    (2, "A10", "c4"),
    (2, "A20", "c4 e5"),
    (2, "A40", "d4"),
    (2, "A45", "d4 Nf6"),
    (2, "A80", "d4 f5"),
    (2, "B00", "e4 Nc6"),
    (3, "B01", "e4 d5 exd5 Qxd5 Nc3"),
    (2, "B02", "e4 Nf6"),
    (2, "B06", "e4 g6"),
    (2, "B07", "e4 d6 d4 Nf6"),
    (2, "B10", "e4 c6"),
    (3, "B12", "e4 c6 d4 d5 e5"),
    (3, "B13", "e4 c6 d4 d5 exd5 cxd5"),
    (1, "B20", "e4 c5"),
    (3, "B22", "e4 c5 c3"),
    (3, "B23", "e4 c5 Nc3"),
    (2, "B27", "e4 c5 Nf3"),
    (3, "B30", "e4 c5 Nf3 Nc6"),
    (3, "B40", "e4 c5 Nf3 e6"),
    (4, "B50", "e4 c5 Nf3 d6"),
    (1, "C00", "e4 e6"),
    (3, "C01", "e4 e6 d4 d5 exd5 exd5"),
    (4, "C02", "e4 e6 d4 d5 e5"),
    (3, "C10", "e4 e6 d4 d5 Nc3"),
    (1, "C20", "e4 e5"),
    (3, "C25", "e4 e5 Nc3"),
    (3, "C30", "e4 e5 f4"),
    (1, "C40", "e4 e5 Nf3"),
    (3, "C41", "e4 e5 Nf3 d6"),
    (3, "C42", "e4 e5 Nf3 Nf6"),
    (1, "C44", "e4 e5 Nf3 Nc6"),
    (4, "C45", "e4 e5 Nf3 Nc6 d4 exd4 Nxd4"),
    (2, "C46", "e4 e5 Nf3 Nc6 Nc3"),
    (3, "C47", "e4 e5 Nf3 Nc6 Nc3 Nf6"),
    (4, "C50", "e4 e5 Nf3 Nc6 Bc4"),
    (4, "C53", "e4 e5 Nf3 Nc6 Bc4 Bc5 c3"),
    (4, "C55", "e4 e5 Nf3 Nc6 Bc4 Nf6"),
    (3, "C60", "e4 e5 Nf3 Nc6 Bb5"),
    (3, "C65", "e4 e5 Nf3 Nc6 Bb5 Nf6"),
    (3, "C68", "e4 e5 Nf3 Nc6 Bb5 a6 Bxc6"),
    (4, "C70", "e4 e5 Nf3 Nc6 Bb5 a6 Ba4"),
    (2, "D00", "d4 d5"),
    (3, "D02", "d4 d5 Nf3"),
    (2, "D06", "d4 d5 c4"),
    (4, "D10", "d4 d5 c4 c6"),
    (3, "D20", "d4 d5 c4 dxc4"),
    (4, "D30", "d4 d5 c4 e6"),
    (4, "D35", "d4 d5 c4 e6 Nc3 Nf6"),
    (2, "E00", "d4 Nf6 c4 e6"),
    (3, "E10", "d4 Nf6 c4 e6 Nf3"),
    (4, "E20", "d4 Nf6 c4 e6 Nc3 Bb4"),
    (3, "E60", "d4 Nf6 c4 g6"),
    (4, "E61", "d4 Nf6 c4 g6 Nc3"),
];

fn moves_of(line: &Line) -> Vec<Move> {
    let mut position = Chess::default();
    let mut moves = Vec::new();
    for word in line.2.split(' ') {
        let Some(played) = San::from_ascii(word.as_bytes())
            .ok()
            .and_then(|san| san.to_move(&position).ok())
        else {
            break; // a slip in the book; the test below finds it
        };
        position.play_unchecked(played);
        moves.push(played);
    }
    moves
}

/// The book moves the two players will follow.
pub fn draw_line(chance: &mut Chance) -> Vec<Move> {
    let index = chance.weighted(LINES.iter().map(|line| line.0));
    moves_of(&LINES[index])
}

/// The code of the longest line the game begins with, if any.
pub fn code(moves: &[Move]) -> Option<&'static str> {
    LINES
        .iter()
        .map(|line| (moves_of(line), line.1))
        .filter(|(line, _)| moves.starts_with(line))
        .max_by_key(|(line, _)| line.len())
        .map(|(_, code)| code)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_can_be_played_and_bears_its_own_code() {
        for line in LINES {
            let moves = moves_of(line);
            assert_eq!(moves.len(), line.2.split(' ').count(), "{}", line.2);
            assert_eq!(code(&moves), Some(line.1), "{}", line.2);
        }
    }

    #[test]
    fn the_longest_line_names_the_game() {
        let deep = moves_of(&(1, "", "e4 e5 Nf3 Nc6 Bc4 Be7"));
        assert_eq!(code(&deep), Some("C50"));
        assert_eq!(code(&[]), None);
    }
}
