//! Pieces day by day as a picture: an SVG of our own, for a screen and for a printer without colours.
//!
//! Dark ink, one cool and one warm accent, which differ in lightness, too; and whatever is told by colour is
//! told by a shape: cold tries are open diamonds or crosses on a dashed line, warm tempi are discs on a solid
//! one.

use super::table;
use crate::days::{DayPlayed, PieceDays};
use crate::visible::visible;
use jiff::civil::Date;
use std::fmt::Write as _;

/// Sizes in points of the picture. Our defaults: it fits a sheet of A4 upright in width.
const WIDTH: u32 = 760;
const HEAD: u32 = 84;
const PANEL: u32 = 214;
const PLOT: u32 = 130;
const LEFT: u32 = 56;
const RIGHT: u32 = 96;

/// Paper, ink, and the accents: a dark blue and an orange, which all kinds of colour-blind readers tell apart
/// (after Okabe and Ito, from memory), and which a grey printer makes dark and light.
const STYLE: &str = "text{font-family:sans-serif;fill:#1c1c1c}.paper{fill:#fdfcf8}.axis{stroke:#1c1c1c;\
    stroke-width:1;fill:none}.grid{stroke:#d8d4ca;stroke-width:1}.goal{stroke:#1c1c1c;stroke-width:1.5;\
    stroke-dasharray:2 3}.warm{stroke:#0b4f8a;stroke-width:2;fill:none}.disc{fill:#0b4f8a}\
    .cold{stroke:#d97a00;stroke-width:1.6;stroke-dasharray:6 4;fill:none}\
    .open{stroke:#d97a00;stroke-width:2;fill:#fdfcf8}";

/// What is told of whom.
pub struct PictureHead<'a> {
    /// The study.
    pub study: &'a str,
    /// Who played, if there is a name.
    pub who: Option<&'a str>,
}

/// The picture of these pieces, since a day if one is given.
pub fn picture(head: &PictureHead<'_>, pieces: &[PieceDays], since: Option<Date>) -> String {
    let height = HEAD + PANEL * u32::try_from(pieces.len()).unwrap_or(0) + 12;
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDTH}\" height=\"{height}\" \
         viewBox=\"0 0 {WIDTH} {height}\" role=\"img\">\n<title>{title}</title>\n<style>{STYLE}</style>\n\
         <rect class=\"paper\" width=\"{WIDTH}\" height=\"{height}\"/>\n",
        title = text(&title(head)),
    );
    put(&mut svg, LEFT, 30, 20, "bold", &title(head));
    legend(&mut svg);
    for (number, days) in (0..).zip(pieces) {
        panel(&mut svg, HEAD + PANEL * number, days, since);
    }
    svg + "</svg>\n"
}

fn title(head: &PictureHead<'_>) -> String {
    let who = head.who.map(|who| format!(", {who}")).unwrap_or_default();
    format!("{}{who}, day by day", head.study)
}

fn legend(svg: &mut String) {
    let y = 54;
    let _ = write!(svg, "<path class=\"warm\" d=\"M{LEFT} {y}h36\"/>");
    disc(svg, f64::from(LEFT + 18), f64::from(y));
    put(svg, LEFT + 44, y + 4, 12, "normal", "warm: the fastest clean one of the day");
    let cold = LEFT + 286;
    let _ = write!(svg, "<path class=\"cold\" d=\"M{cold} {y}h52\"/>");
    diamond(svg, f64::from(cold + 14), f64::from(y));
    cross(svg, f64::from(cold + 40), f64::from(y));
    put(svg, cold + 60, y + 4, 12, "normal", "cold: its first try, clean or (cross) not");
    put(svg, LEFT, y + 24, 11, "normal", "beats a minute");
}

/// One piece: its name, its days against its goal, and what is to be said of it.
fn panel(svg: &mut String, top: u32, days: &PieceDays, since: Option<Date>) {
    put(svg, LEFT, top + 16, 14, "bold", &days.name);
    let shown: Vec<(Date, DayPlayed)> = days
        .days
        .iter()
        .filter(|(day, _)| since.is_none_or(|since| **day >= since))
        .map(|(day, played)| (*day, *played))
        .collect();
    let plot = Plot::of(top + 28, &shown, days.goal);
    plot.axes(svg, days.goal);
    let colds = shown.iter().filter_map(|(day, played)| Some((*day, played.cold?)));
    let bests = shown.iter().filter_map(|(day, played)| Some((*day, played.best?)));
    let colds: Vec<_> =
        colds.map(|(day, cold)| (plot.x(day), plot.y(cold.tempo), cold.passed)).collect();
    let bests: Vec<_> = bests.map(|(day, best)| (plot.x(day), plot.y(best))).collect();
    line(svg, "cold", colds.iter().map(|(x, y, _)| (*x, *y)));
    line(svg, "warm", bests.iter().copied());
    for (x, y) in &bests {
        disc(svg, *x, *y);
    }
    for (x, y, passed) in &colds {
        if *passed { diamond(svg, *x, *y) } else { cross(svg, *x, *y) }
    }
    let words = table::piece_words(days);
    let said: Vec<&str> = words.iter().take(2).map(String::as_str).collect();
    for (number, words) in (0..).zip(said) {
        put(svg, LEFT, top + 28 + PLOT + 30 + 14 * number, 11, "normal", words);
    }
}

/// Where days and tempi stand.
struct Plot {
    top: u32,
    first: Option<Date>,
    last: Option<Date>,
    slowest: u32,
    fastest: u32,
}

impl Plot {
    fn of(top: u32, shown: &[(Date, DayPlayed)], goal: u32) -> Self {
        let tempi =
            shown.iter().flat_map(|(_, played)| [played.cold.map(|cold| cold.tempo), played.best]);
        let tempi: Vec<u32> = tempi.flatten().chain([goal]).collect();
        let (least, most) = (tempi.iter().min(), tempi.iter().max());
        let (least, most) = (least.copied().unwrap_or(0), most.copied().unwrap_or(0));
        // Whole tens, with room on both sides.
        let (slowest, fastest) =
            (least.saturating_sub(4) / 10 * 10, most.saturating_add(4).div_ceil(10) * 10);
        let (first, last) = (shown.first().map(|(day, _)| *day), shown.last().map(|(day, _)| *day));
        Self { top, first, last, slowest, fastest: fastest.max(slowest + 10) }
    }

    fn x(&self, day: Date) -> f64 {
        let width = f64::from(WIDTH - LEFT - RIGHT);
        let days = |from: Option<Date>, to: Date| {
            f64::from(from.map_or(0, |from| to.since(from).map_or(0, |span| span.get_days())))
        };
        let all = self.last.map_or(0.0, |last| days(self.first, last));
        let share = if all > 0.0 { days(self.first, day) / all } else { 0.5 };
        f64::from(LEFT) + 12.0 + share * (width - 24.0)
    }

    fn y(&self, tempo: u32) -> f64 {
        let range = f64::from(self.fastest - self.slowest);
        let up = f64::from(tempo.saturating_sub(self.slowest)) / range;
        f64::from(self.top) + f64::from(PLOT) * (1.0 - up)
    }

    fn axes(&self, svg: &mut String, goal: u32) {
        let (right, bottom) = (WIDTH - RIGHT, self.top + PLOT);
        for tempo in [self.slowest, (self.slowest + self.fastest) / 2, self.fastest] {
            let y = self.y(tempo);
            let _ = write!(svg, "<path class=\"grid\" d=\"M{LEFT} {y:.1}H{right}\"/>");
            let _ = writeln!(
                svg,
                "<text x=\"{}\" y=\"{:.1}\" font-size=\"11\" text-anchor=\"end\">{tempo}</text>",
                LEFT - 6,
                y + 4.0
            );
        }
        let y = self.y(goal);
        let _ = write!(svg, "<path class=\"goal\" d=\"M{LEFT} {y:.1}H{right}\"/>");
        let label = format!("goal {goal}");
        let _ = writeln!(
            svg,
            "<text x=\"{}\" y=\"{:.1}\" font-size=\"12\">{label}</text>",
            right + 6,
            y + 4.0
        );
        let _ = write!(svg, "<path class=\"axis\" d=\"M{LEFT} {}V{bottom}H{right}\"/>", self.top);
        let mut days: Vec<Date> = [self.first, self.last].into_iter().flatten().collect();
        days.dedup();
        for day in days {
            let anchor = if days_apart(self.first, self.last) == 0 { "middle" } else { "start" };
            let anchor = if anchor == "start" && Some(day) == self.last { "end" } else { anchor };
            let _ = writeln!(
                svg,
                "<text x=\"{:.1}\" y=\"{}\" font-size=\"11\" text-anchor=\"{anchor}\">{}</text>",
                self.x(day),
                bottom + 14,
                day.strftime("%-d %B %Y")
            );
        }
    }
}

fn days_apart(from: Option<Date>, to: Option<Date>) -> i32 {
    from.zip(to).map_or(0, |(from, to)| to.since(from).map_or(0, |span| span.get_days()))
}

fn line(svg: &mut String, class: &str, points: impl Iterator<Item = (f64, f64)>) {
    let mut path = String::new();
    for (x, y) in points {
        let _ = write!(path, "{}{x:.1} {y:.1}", if path.is_empty() { 'M' } else { 'L' });
    }
    if path.contains('L') {
        let _ = writeln!(svg, "<path class=\"{class}\" d=\"{path}\"/>");
    }
}

fn disc(svg: &mut String, x: f64, y: f64) {
    let _ = writeln!(svg, "<circle class=\"disc\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4.5\"/>");
}

fn diamond(svg: &mut String, x: f64, y: f64) {
    let _ = writeln!(svg, "<path class=\"open\" d=\"M{x:.1} {:.1}l6 6l-6 6l-6 -6z\"/>", y - 6.0);
}

fn cross(svg: &mut String, x: f64, y: f64) {
    let _ = writeln!(
        svg,
        "<path class=\"open\" d=\"M{:.1} {:.1}l10 10m0 -10l-10 10\"/>",
        x - 5.0,
        y - 5.0
    );
}

fn put(svg: &mut String, x: u32, y: u32, size: u32, weight: &str, words: &str) {
    let _ = writeln!(
        svg,
        "<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\" font-weight=\"{weight}\">{}</text>",
        text(words)
    );
}

/// A text as XML takes it; names may come from anybody.
fn text(words: &str) -> String {
    visible(words)
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('\n', " ")
}
