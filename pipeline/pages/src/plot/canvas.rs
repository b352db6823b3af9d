//! A thin layer between the plots and plotters: coordinates in CSS pixels, colours by role,
//! and what plotters writes turned into a picture of the house.

use anyhow::{Context as _, Result};
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters::element::{
    Circle, DashedPathElement, Drawable, PathElement, PointCollection, Polygon,
};
use plotters::prelude::{IntoDrawingArea as _, SVGBackend};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{
    Color as _, FontDesc, FontFamily, FontStyle, RGBColor, ShapeStyle, TextStyle,
};

use super::Width;
use crate::palette::{AXIS, RULE, Role};
use crate::svg::{Words, wrap};

/// Plotters knows whole numbers only; a quarter of a pixel is its unit here, so that steps
/// and curves do not look cut.
const FINE: u32 = 4;

/// Plotters divides a font's size by this when it writes SVG.
const FONT_FACTOR: f64 = 1.24;

/// The name given to plotters for a font, taken out again: the page's font is used.
const FONT: &str = "house";

/// What a line of text looks like.
#[derive(Clone, Copy)]
pub(super) struct Type {
    /// Size in CSS pixels.
    pub size: f64,
    /// Its colour.
    pub role: Role,
    /// Whether it is bold.
    pub bold: bool,
    /// Which part of the text its place is.
    pub anchor: HPos,
}

impl Type {
    /// Plain text.
    pub(super) fn new(size: f64, role: Role, anchor: HPos) -> Type {
        Type {
            size,
            role,
            bold: false,
            anchor,
        }
    }

    /// The same in bold letters, or not.
    pub(super) fn bold(self, bold: bool) -> Type {
        Type { bold, ..self }
    }
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stroke {
    /// Without a gap.
    Solid,
    /// Dashes and gaps of so many pixels.
    Dashed(u16, u16),
}

/// Colour, thickness in pixels and stroke of a line.
#[derive(Clone, Copy)]
pub(super) struct Ink {
    role: Role,
    thick: f64,
    stroke: Stroke,
}

impl Ink {
    /// A line without a gap.
    pub(super) const fn solid(role: Role, thick: f64) -> Ink {
        Ink::new(role, thick, Stroke::Solid)
    }

    pub(super) const fn new(role: Role, thick: f64, stroke: Stroke) -> Ink {
        Ink {
            role,
            thick,
            stroke,
        }
    }
}

/// The lines behind the figures.
pub(super) const GRID: Ink = Ink::solid(RULE, 1.0);

/// The line of an axis.
pub(super) const AXIS_LINE: Ink = Ink::solid(AXIS, 1.0);

/// A drawing under way.
pub(super) struct Canvas<'a> {
    area: DrawingArea<SVGBackend<'a>, Shift>,
}

impl Canvas<'_> {
    /// Draws a picture of `height` pixels by what `draw` puts on the canvas.
    pub fn picture(
        words: Words<'_>,
        width: Width,
        height: u32,
        draw: impl FnOnce(&Canvas<'_>) -> Result<()>,
    ) -> Result<String> {
        let (across, down) = (width.units() * FINE, height * FINE);
        let mut svg = String::new();
        let canvas = Canvas {
            area: SVGBackend::with_string(&mut svg, (across, down)).into_drawing_area(),
        };
        draw(&canvas)?;
        canvas.area.present().context("a plot could not be drawn")?;
        drop(canvas);
        let body = svg
            .split_once(">\n")
            .and_then(|(_, rest)| rest.rsplit_once("</svg>"))
            .map(|(body, _)| body)
            .context("a plot came out without its SVG element")?;
        // What plotters writes and a picture does without.
        let body = body
            .replace(&format!(" font-family=\"{FONT}\""), "")
            .replace(" opacity=\"1\"", "")
            .replace(" stroke=\"none\"", "")
            .replace(" \"", "\"");
        Ok(wrap(words, width.class(), across, down, &body))
    }

    pub fn text(&self, text: &str, x: f64, y: f64, style: Type) -> Result<()> {
        let font = FontDesc::new(
            FontFamily::Name(FONT),
            style.size * f64::from(FINE) * FONT_FACTOR,
            if style.bold {
                FontStyle::Bold
            } else {
                FontStyle::Normal
            },
        );
        let ink = color(style.role);
        let style = TextStyle::from(font)
            .color(&ink)
            .pos(Pos::new(style.anchor, VPos::Center));
        self.area
            .draw_text(text, &style, fine((x, y)))
            .context("the text of a plot could not be drawn")
    }

    pub fn line(&self, points: &[(f64, f64)], ink: Ink) -> Result<()> {
        let points: Vec<_> = points.iter().copied().map(fine).collect();
        let style = outline(ink.role, ink.thick);
        match ink.stroke {
            Stroke::Solid => self.put(&PathElement::new(points, style)),
            Stroke::Dashed(dash, gap) => {
                let fine = |pixels: u16| f64::from(pixels) * f64::from(FINE);
                self.put(&DashedPathElement::new(
                    points,
                    fine(dash) as i32,
                    fine(gap) as i32,
                    style,
                ))
            }
        }
    }

    /// A level line from left to right.
    pub fn across(&self, (left, right): (f64, f64), y: f64, ink: Ink) -> Result<()> {
        self.line(&[(left, y), (right, y)], ink)
    }

    /// An upright line from top to bottom.
    pub fn down(&self, x: f64, (top, bottom): (f64, f64), ink: Ink) -> Result<()> {
        self.line(&[(x, top), (x, bottom)], ink)
    }

    /// A filled polygon, `strength` of its colour over what lies under it (1 hides it).
    pub fn area(&self, points: &[(f64, f64)], role: Role, strength: f64) -> Result<()> {
        let points: Vec<_> = points.iter().copied().map(fine).collect();
        self.put(&Polygon::new(points, color(role).mix(strength).filled()))
    }

    pub fn disc(&self, x: f64, y: f64, radius: f64, role: Role) -> Result<()> {
        let radius = (radius * f64::from(FINE)).round() as i32;
        self.put(&Circle::new(fine((x, y)), radius, color(role).filled()))
    }

    /// A diamond with a clear middle.
    pub fn diamond(&self, x: f64, y: f64, radius: f64, role: Role, middle: Role) -> Result<()> {
        let corners = [
            (x, y - radius),
            (x + radius, y),
            (x, y + radius),
            (x - radius, y),
        ];
        self.area(&corners, middle, 1.0)?;
        let mut closed = corners.to_vec();
        closed.extend([corners[0], corners[1]]);
        self.line(&closed, Ink::solid(role, 2.0))
    }

    fn put<'e, E>(&self, element: &'e E) -> Result<()>
    where
        &'e E: PointCollection<'e, (i32, i32)>,
        for<'b> E: Drawable<SVGBackend<'b>>,
    {
        self.area.draw(element).context("a plot could not be drawn")
    }
}

fn color(role: Role) -> RGBColor {
    let (red, green, blue) = role.rgb();
    RGBColor(red, green, blue)
}

fn outline(role: Role, thick: f64) -> ShapeStyle {
    color(role).stroke_width((thick * f64::from(FINE)).round() as u32)
}

/// A place in pixels as plotters counts.
fn fine((x, y): (f64, f64)) -> (i32, i32) {
    let fine = |pixels: f64| (pixels * f64::from(FINE)).round() as i32;
    (fine(x), fine(y))
}
