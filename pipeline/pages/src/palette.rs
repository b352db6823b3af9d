//! The house colours, in one place: every drawing and the style sheet take them from here.
//!
//! Drawings carry the light colours as plain attributes, so that a picture taken out of its
//! page still looks right. In a page the style sheet made by [`css`] catches each of these
//! attributes and puts a variable in its place, which is how the same picture turns dark
//! with the reader's screen and stays light on paper.
//!
//! The tests of this file hold the colours to their promises: enough contrast (WCAG 2.2,
//! success criteria 1.4.3 and 1.4.11), and colours that carry meaning far apart for readers
//! with any of the three kinds of colour blindness.

use std::fmt::Write as _;

/// One colour of the house: its role and what it is on a light and on a dark screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Role {
    /// Name of the role, and of the CSS variable.
    pub name: &'static str,
    /// `#RRGGBB` on paper and on a light screen; no two roles share it.
    pub light: &'static str,
    /// `#RRGGBB` on a dark screen.
    pub dark: &'static str,
}

impl Role {
    /// Red, green and blue of the light colour.
    pub fn rgb(&self) -> (u8, u8, u8) {
        rgb(self.light)
    }
}

/// Declares the roles and lists them.
macro_rules! roles {
    ($($(#[$doc:meta])* $name:ident = $word:literal, $light:literal, $dark:literal;)+) => {
        $($(#[$doc])* pub const $name: Role = Role { name: $word, light: $light, dark: $dark };)+

        /// Every role.
        pub const ALL: &[Role] = &[$($name),+];
    };
}

roles! {
    /// The page itself.
    PAPER = "paper", "#FBFAF7", "#14171C";
    /// Panels and table heads.
    PANEL = "panel", "#F2F0EA", "#1D2128";
    /// Text.
    INK = "ink", "#1F242B", "#E9E7E1";
    /// Text of lesser weight: captions, intervals, axis labels.
    MUTED = "muted", "#59616C", "#A3ABB6";
    /// Rules between rows, grid lines.
    RULE = "rule", "#DAD7CF", "#363C46";
    /// Axes, frames.
    AXIS = "axis", "#8B8F96", "#7E8794";
    /// What is held; first series of a plot.
    HELD = "held", "#B23C11", "#F58A5C";
    /// What is free; second series of a plot.
    FREE = "free", "#2468A8", "#7DB8F2";
    /// Third series of a plot.
    THIRD = "third", "#7A7A72", "#E9E2D0";
    /// Fourth series of a plot.
    FOURTH = "fourth", "#3D1450", "#8E5BE0";
    /// Light squares of a board.
    SQUARE_LIGHT = "square-light", "#F0EEE8", "#D0D2D8";
    /// Dark squares of a board.
    SQUARE_DARK = "square-dark", "#BFC3CF", "#A3A7B3";
    /// Body of a white piece.
    WHITE_PIECE = "white-piece", "#FFFFFF", "#FFFFFF";
    /// Body of a black piece, outline of a white one.
    BLACK_PIECE = "black-piece", "#23272E", "#16191D";
    /// Ring of the held piece and crosses on squares taken.
    MARK_HELD = "mark-held", "#B03A10", "#8F2A06";
    /// Dots on squares still safe.
    MARK_SAFE = "mark-safe", "#1B5E9C", "#0F447A";
    /// The arrow of the move.
    MARK_MOVE = "mark-move", "#5A2A6B", "#481A5C";
    /// Edge that parts a mark from what lies under it.
    MARK_EDGE = "mark-edge", "#FDFDFD", "#F4F4F4";
}

/// Colours of the series of a plot, in order.
pub const SERIES: [Role; 4] = [HELD, FREE, THIRD, FOURTH];

/// Red, green and blue of `#RRGGBB`; black for anything else, which the tests rule out.
fn rgb(hex: &str) -> (u8, u8, u8) {
    let part = |range| {
        hex.get(range)
            .and_then(|digits| u8::from_str_radix(digits, 16).ok())
            .unwrap_or(0)
    };
    (part(1..3), part(3..5), part(5..7))
}

/// The colour part of the style sheet: the variables, light and (on a screen that asks for
/// it) dark, and the rules that hang the attributes of drawings on them.
pub fn css() -> String {
    let mut css = String::from(":root{color-scheme:light dark");
    for role in ALL {
        let _ = write!(css, ";--{}:{}", role.name, role.light);
    }
    css.push_str("}\n@media screen and (prefers-color-scheme:dark){:root{");
    for role in ALL {
        let _ = write!(css, "--{}:{};", role.name, role.dark);
    }
    css.push_str("}}\n@media print{:root{color-scheme:light}}\n");
    for role in ALL {
        let (name, light) = (role.name, role.light);
        let _ = writeln!(
            css,
            "svg [fill=\"{light}\"]{{fill:var(--{name})}}svg [stroke=\"{light}\"]{{stroke:var(--{name})}}"
        );
    }
    css
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Linear light of an sRGB colour (IEC 61966-2-1).
    fn linear(hex: &str) -> [f64; 3] {
        let (r, g, b) = rgb(hex);
        [r, g, b].map(|byte| {
            let c = f64::from(byte) / 255.0;
            if c <= 0.04045 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        })
    }

    /// Contrast ratio as WCAG 2.2 defines it.
    fn contrast(a: &str, b: &str) -> f64 {
        let luminance = |hex| {
            let [r, g, b] = linear(hex);
            0.2126 * r + 0.7152 * g + 0.0722 * b
        };
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    /// What a reader sees: full colour vision, then protanopia, deuteranopia, tritanopia.
    /// G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, A physiologically-based model for
    /// simulation of color vision deficiency, IEEE Transactions on Visualization and Computer
    /// Graphics 15(6) (2009), 1291–1298, severity 1.0; the matrices equal those of the Python
    /// package colour-science (`CVD_MATRICES_MACHADO2010`). Each row adds up to 1, so that white
    /// stays white.
    const SIGHT: [[[f64; 3]; 3]; 4] = [
        [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]],
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ],
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ],
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ],
    ];

    /// CIE L*a*b* (CIE 15, D65) of a colour as a reader sees it.
    fn lab(hex: &str, sight: &[[f64; 3]; 3]) -> [f64; 3] {
        let seen = linear(hex);
        let [r, g, b] = sight.map(|row| {
            let sum: f64 = row.iter().zip(seen).map(|(m, c)| m * c).sum();
            sum.clamp(0.0, 1.0)
        });
        let f = |t: f64| {
            if t > 0.008856 {
                t.cbrt()
            } else {
                7.787 * t + 16.0 / 116.0
            }
        };
        let x = f((0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.95047);
        let y = f(0.2126 * r + 0.7152 * g + 0.0722 * b);
        let z = f((0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.08883);
        [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
    }

    /// Distance of two colours for the reader who sees them closest (CIE 1976).
    fn distance(a: &str, b: &str) -> f64 {
        SIGHT
            .iter()
            .map(|sight| {
                let (a, b) = (lab(a, sight), lab(b, sight));
                a.iter()
                    .zip(b)
                    .map(|(p, q)| (p - q).powi(2))
                    .sum::<f64>()
                    .sqrt()
            })
            .fold(f64::INFINITY, f64::min)
    }

    #[test]
    fn the_simulation_keeps_white_white() {
        for row in SIGHT.iter().flatten() {
            assert!((row.iter().sum::<f64>() - 1.0).abs() < 1e-5);
        }
        // Red and green of the same weight: far apart for most, close for some.
        assert!(distance("#B23C11", "#6E7F12") < 10.0);
        assert!((contrast("#000000", "#FFFFFF") - 21.0).abs() < 1e-9);
    }

    #[test]
    fn light_colours_are_well_formed_and_each_its_own() {
        for (i, role) in ALL.iter().enumerate() {
            for hex in [role.light, role.dark] {
                assert!(
                    hex.len() == 7
                        && hex.starts_with('#')
                        && hex[1..]
                            .bytes()
                            .all(|b| b.is_ascii_digit() || (b'A'..=b'F').contains(&b)),
                    "{hex}"
                );
            }
            for other in &ALL[i + 1..] {
                assert_ne!(role.light, other.light, "{} {}", role.name, other.name);
            }
        }
    }

    #[test]
    fn text_has_a_contrast_of_at_least_four_and_a_half() {
        for ground in [PAPER, PANEL] {
            for text in [INK, MUTED, HELD, FREE] {
                assert!(contrast(text.light, ground.light) >= 4.5, "{}", text.name);
                assert!(contrast(text.dark, ground.dark) >= 4.5, "{}", text.name);
            }
        }
    }

    #[test]
    fn lines_and_marks_have_a_contrast_of_at_least_three() {
        for line in SERIES.iter().chain([&AXIS]) {
            assert!(contrast(line.light, PAPER.light) >= 3.0, "{}", line.name);
            assert!(contrast(line.dark, PAPER.dark) >= 3.0, "{}", line.name);
        }
        for square in [SQUARE_LIGHT, SQUARE_DARK] {
            for mark in [MARK_HELD, MARK_SAFE, MARK_MOVE, BLACK_PIECE] {
                assert!(contrast(mark.light, square.light) >= 3.0, "{}", mark.name);
                assert!(contrast(mark.dark, square.dark) >= 3.0, "{}", mark.name);
            }
        }
        assert!(contrast(WHITE_PIECE.light, BLACK_PIECE.light) >= 7.0);
        assert!(contrast(WHITE_PIECE.dark, BLACK_PIECE.dark) >= 7.0);
    }

    #[test]
    fn series_stay_apart_for_every_reader() {
        for (i, a) in SERIES.iter().enumerate() {
            for b in &SERIES[i + 1..] {
                assert!(distance(a.light, b.light) >= 20.0, "{} {}", a.name, b.name);
                assert!(distance(a.dark, b.dark) >= 20.0, "{} {}", a.name, b.name);
            }
        }
        assert!(distance(MARK_HELD.light, MARK_SAFE.light) >= 20.0);
        assert!(distance(MARK_HELD.dark, MARK_SAFE.dark) >= 20.0);
    }

    #[test]
    fn the_style_sheet_catches_every_light_colour() {
        let css = css();
        for role in ALL {
            assert!(css.contains(&format!("[fill=\"{}\"]", role.light)));
            assert!(css.contains(&format!("--{}:{};", role.name, role.dark)));
        }
    }
}
