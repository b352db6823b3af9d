//! Clocks and evaluations in comments: `[%clk 0:01:02.5]`, `[%eval 0.35]`, `[%eval #-3]`
//! (embedded commands as the PGN standard's supplement on clock comments writes them; the
//! evaluation: common practice, no source).

use memchr::memmem;

/// What a comment says of the ply before it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Note {
    /// Seconds left.
    pub clock: Option<f32>,
    /// Evaluation.
    pub eval: Option<Eval>,
}

/// An evaluation, positive for White.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Eval {
    /// In pawns.
    Pawns(f32),
    /// Moves to mate.
    Mate(i16),
}

/// Reads a comment.
pub fn read(comment: &[u8]) -> Note {
    if memchr::memchr(b'%', comment).is_none() {
        return Note::default();
    }
    Note {
        clock: command(comment, b"[%clk").and_then(clock),
        eval: command(comment, b"[%eval").and_then(eval),
    }
}

/// The argument of the first command of a name.
fn command<'a>(comment: &'a [u8], name: &[u8]) -> Option<&'a str> {
    let start = memmem::find(comment, name)? + name.len();
    let rest = comment.get(start..)?;
    let end = memchr::memchr(b']', rest)?;
    let argument = &rest[..end];
    // `[%clkx` is another command.
    if !argument.first()?.is_ascii_whitespace() {
        return None;
    }
    std::str::from_utf8(argument.trim_ascii()).ok()
}

fn clock(text: &str) -> Option<f32> {
    let mut seconds = 0.0_f64;
    let mut parts = 0;
    for part in text.split(':') {
        if part.is_empty() || !part.bytes().all(|b| b.is_ascii_digit() || b == b'.') {
            return None;
        }
        seconds = seconds * 60.0 + part.parse::<f64>().ok()?;
        parts += 1;
    }
    let seconds = seconds as f32;
    (parts <= 3 && seconds.is_finite()).then_some(seconds)
}

fn eval(text: &str) -> Option<Eval> {
    let value = text.split(',').next()?.trim();
    if let Some(mate) = value.strip_prefix('#') {
        return mate.parse().ok().map(Eval::Mate);
    }
    let pawns: f32 = value.parse().ok()?;
    pawns.is_finite().then_some(Eval::Pawns(pawns))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clocks_and_evaluations() {
        assert_eq!(read(b" [%clk 1:02:03.5] ").clock, Some(3723.5));
        assert_eq!(read(b"[%clk 05:00]").clock, Some(300.0));
        let both = read(b"x [%eval -0.35,20] [%clk 0:00:09] y");
        assert_eq!(both.eval, Some(Eval::Pawns(-0.35)));
        assert_eq!(both.clock, Some(9.0));
        assert_eq!(read(b"[%eval #-3]").eval, Some(Eval::Mate(-3)));
        for odd in [
            "[%clk]",
            "[%clk x]",
            "[%clk 1:2:3:4]",
            "[%clkx 0:01]",
            "[%clk 0:01",
            "100% clk",
            "[%eval -inf]",
            "[%eval NaN]",
            "[%eval 1e39]",
            "[%eval #99999]",
        ] {
            assert_eq!(read(odd.as_bytes()), Note::default(), "{odd}");
        }
    }

    #[test]
    fn clock_that_is_not_finite_is_ignored() {
        // Beyond the largest f32, and beyond the largest f64.
        for digits in [39, 400] {
            let comment = format!("[%clk {}]", "9".repeat(digits));
            assert_eq!(read(comment.as_bytes()).clock, None, "{digits} digits");
        }
        assert_eq!(read(b"[%clk 0:00:00]").clock, Some(0.0));
    }
}
