//! Shuffled starts (Chess960): first rows drawn by number, and their FEN tags.

use shakmaty::fen::Fen;
use shakmaty::{Board, ByColor, CastlingMode, Chess, Color, EnPassantMode, Role, Setup};

use crate::chance::Chance;

/// How the castling rights of a start are written.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Rights {
    /// `KQkq`.
    Letters,
    /// By the files of the rooks, as `HAha`.
    Files,
}

/// The start with number 0 to 959, and its FEN.
pub fn start(number: u32, rights: Rights) -> Option<(Chess, String)> {
    let board = Board::chess960(number % 960);
    let setup = Setup {
        castling_rights: board.rooks(),
        board,
        ..Setup::initial()
    };
    let position: Chess = setup.position(CastlingMode::Chess960).ok()?;
    let mut fen = Fen::from_position(&position, EnPassantMode::Legal).to_string();
    if rights == Rights::Files {
        fen = fen.replacen(" KQkq ", &format!(" {} ", by_files(&position)), 1);
    }
    Some((position, fen))
}

fn by_files(position: &Chess) -> String {
    use shakmaty::Position;
    let rooks = ByColor::new_with(|color: Color| {
        let own = position.board().by_piece(Role::Rook.of(color));
        let mut files: Vec<char> = own.into_iter().map(|rook| rook.file().char()).collect();
        files.reverse();
        files.into_iter().collect::<String>()
    });
    rooks.white.to_uppercase() + &rooks.black
}

/// Draws a start other than the usual one.
pub fn draw(chance: &mut Chance) -> (u32, Rights) {
    // 518 is the usual start in this count.
    let number = match chance.below(959) {
        drawn @ 0..518 => drawn,
        drawn => drawn + 1,
    };
    let rights = if chance.permille(300) {
        Rights::Files
    } else {
        Rights::Letters
    };
    (number, rights)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn number_518_is_the_usual_start() {
        let (_, fen) = start(518, Rights::Letters).expect("it is a start");
        assert_eq!(
            fen,
            "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1"
        );
        let (_, fen) = start(518, Rights::Files).expect("it is a start");
        assert_eq!(
            fen,
            "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w HAha - 0 1"
        );
    }

    #[test]
    fn every_fen_reads_back_to_its_position() {
        for number in 0..960 {
            for rights in [Rights::Letters, Rights::Files] {
                let (position, fen) = start(number, rights).expect("it is a start");
                let read: Chess = fen
                    .parse::<Fen>()
                    .expect("it reads")
                    .into_position(CastlingMode::Chess960)
                    .expect("it is possible");
                assert_eq!(read, position);
            }
        }
    }
}
