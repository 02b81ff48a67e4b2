//! When channels begin and end, and how long the old and the new animation say that they last.

use super::{SAME_TIME, Source};
use crate::assists::{parts::Parts, site::Site, windows::time_like};
use crate::writer::{NewElement, declaration};
use dialect::ControlKind;
use syntax::TextEdit;

/// # Errors
/// The animation says that it is over before the channels end.
pub(super) fn outlasts_its_channels(site: &Site<'_>, parts: &Parts) -> Result<(), String> {
    let animation = parts.animation_of(site);
    let lasting = animation.and_then(|animation| animation.duration.as_ref());
    let end = last_end(&parts.channels_of(site));
    match lasting {
        Some(lasting) if lasting.value < end - SAME_TIME => Err(
            "the animation is over before these channels end, which has to be mended first"
                .to_owned(),
        ),
        _ => Ok(()),
    }
}

/// Seconds: when the first of the channels begins, of which the last ends later.
///
/// # Errors
/// Their times cannot be read, or are not those of a motion.
pub(super) fn first_begin(site: &Site<'_>, parts: &Parts) -> Result<f64, String> {
    let mut first: Option<f64> = None;
    let channels = parts.channels_of(site);
    for channel in &channels {
        for motion in &channel.motions {
            let line = site.line(channel.element.start());
            let (Some(begin), Some(end)) = (&motion.window.begin, &motion.window.end) else {
                return Err(format!(
                    "the times of the channel on line {line} cannot be read"
                ));
            };
            if end.value < begin.value {
                return Err(format!(
                    "the channel on line {line} ends before it begins, which has to be mended first"
                ));
            }
            first = Some(first.map_or(begin.value, |first| first.min(begin.value)));
        }
    }
    let begin = first.ok_or_else(|| "these channels move nothing that can be read".to_owned())?;
    match channels.first() {
        Some(first) if last_end(&channels) - begin < SAME_TIME => Err(format!(
            "the channel on line {} begins and ends in the same moment, which has to be mended first",
            site.line(first.element.start())
        )),
        _ => Ok(begin),
    }
}

/// Seconds: when the last of some channels ends.
fn last_end(channels: &[&machine::Channel]) -> f64 {
    let motions = channels.iter().flat_map(|channel| &channel.motions);
    let ends = motions.filter_map(|motion| motion.window.end.as_ref());
    ends.map(|end| end.value).fold(0.0, f64::max)
}

/// Says how long the new animation lasts, if the old one says so or the
/// grammar wants it.
pub(super) fn set_duration(
    site: &Site<'_>,
    parts: &Parts,
    source: &Source<'_>,
    earlier: f64,
    element: &mut NewElement,
) -> Result<(), String> {
    let Some(path) = &source.role.duration else {
        return Ok(());
    };
    let declared = declaration(site.dialect, &[element.context], path);
    let written = site.reader.value(&source.chain, path);
    // Whether the grammar wants the value depends on whether it wants the element around it, too.
    let is_wanted = path.steps().is_empty() && declared.is_some_and(|declared| declared.required);
    if written.is_none() && !is_wanted {
        return Ok(());
    }
    let seconds = last_end(&parts.channels_of(site)) - earlier;
    let like = written.as_ref().map_or("", |written| &written.text);
    let text = match (&written, declared) {
        (Some(written), _) => time_like(site, written.value_type(), like, seconds),
        (None, Some(declared)) => time_like(site, &declared.value, like, seconds),
        (None, None) => return Ok(()),
    };
    element
        .set(site.dialect, path, &text)
        .map_err(|error| error.to_string())
}

/// Keeps what stays behind in time: a written duration that only said when the
/// last channel ends is made to say so again; one that was left out is written
/// if leaving it out would now mean less.
pub(super) fn source_duration(
    site: &Site<'_>,
    parts: &Parts,
    source: &Source<'_>,
) -> Result<Option<TextEdit>, String> {
    let Some(path) = &source.role.duration else {
        return Ok(None);
    };
    let Some(animation) = parts.animation_of(site) else {
        return Ok(None);
    };
    let end_before = animation.last_end();
    let end_after = last_end(&parts.others_of(site));
    if end_after >= end_before - SAME_TIME {
        return Ok(None);
    }
    match &animation.duration {
        Some(written) => {
            let said_the_end = (written.value - end_before).abs() < SAME_TIME;
            // An axis runs over the whole length: to shorten it would change how far the rest follows the hand.
            let is_followed = site
                .players(parts.animation)
                .iter()
                .any(|control| control.kind == Some(ControlKind::Analog));
            if !said_the_end || is_followed || end_after < SAME_TIME {
                return Ok(None);
            }
            let Some(found) = site.reader.value(&source.chain, path) else {
                return Ok(None);
            };
            let text = time_like(site, found.value_type(), &found.text, end_after);
            Ok(Some(TextEdit::replace(written.range, text)))
        }
        None => {
            let contexts: Vec<_> = source.chain.iter().map(|at| at.context).collect();
            let Some(declared) = declaration(site.dialect, &contexts, path) else {
                return Ok(None);
            };
            let text = time_like(site, &declared.value, "", end_before);
            site.set_value(&source.chain, path, &text)
                .map(Some)
                .map_err(|error| error.to_string())
        }
    }
}
