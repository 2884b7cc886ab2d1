//! A figure on the guitar that asks what can be chosen.

use super::learner::Learner;
use crate::fault::{Exit, Fault};
use crate::output::Output;
use crate::switches::{Figure, LENGTHS, NoFigure};

/// So often it is played until it has come twice alike. Our default: a pickup that hears it otherwise each
/// time would not hear it in practice, either.
const TRIES: u8 = 6;

/// Learns a figure: it has to come twice alike.
pub(super) fn learn(learner: &mut Learner, output: &mut Output) -> Result<Figure, Fault> {
    let (least, most) = (LENGTHS.start(), LENGTHS.end());
    output.say(&format!(
        "Play a figure of {least} to {most} notes that is in none of your music, with a leap of an octave in \
         it: for instance {}, the open strings 6, 1, 6 and 1. Then leave the strings alone.",
        Figure::proposed()
    ))?;
    let mut before: Option<Figure> = None;
    for _ in 0..TRIES {
        let Some(notes) = learner.figure()? else { break };
        let figure = match Figure::new(notes) {
            Ok(figure) => figure,
            Err(why) => {
                output.say(&refused(why))?;
                continue;
            }
        };
        if before.as_ref() == Some(&figure) {
            return Ok(figure);
        }
        let ask = match before {
            None => format!("That was {figure}. The same once more."),
            Some(_) => format!("That was {figure}, and something else before. The same once more."),
        };
        output.say(&ask)?;
        before = Some(figure);
        if learner.is_over() {
            break;
        }
    }
    Err(Fault::new(Exit::Live, "no figure was heard twice alike").advise(
        "Try another one, of open strings and loud, or see with `evenhand doctor --listen` how well the \
         pickup hears. What was known before is as it was.",
    ))
}

fn refused(why: NoFigure) -> String {
    let (least, most) = (LENGTHS.start(), LENGTHS.end());
    match why {
        NoFigure::Length(1) => format!("That was one note; it takes {least} to {most}. Once more."),
        NoFigure::Length(notes) => {
            format!("Those were {notes} notes; it takes {least} to {most}. Once more.")
        }
        NoFigure::Near | NoFigure::NoPitch => {
            "Music has such steps. It needs a leap of an octave. Once more.".to_owned()
        }
    }
}
