//! The times of channels as they are written, and the edits that move them.

use super::site::Site;
use crate::writer::{least_decimals, number_like};
use dialect::{ChannelRole, Ends, Quantity, ValueType, Window};
use machine::{Chain, Found};
use std::collections::HashSet;
use syntax::{TextEdit, TextRange};

/// A time and where it is written; or several, where nobody can tell which of them is written where, as in a CDATA section.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct WrittenTime<'v> {
    pub(crate) range: TextRange,
    /// As each stands there, and in seconds.
    times: Vec<(String, f64)>,
    value_type: &'v ValueType,
}

/// All times that a channel is read from: of its window, of its motions' own windows, and of keyframes.
pub(crate) fn written_times<'v>(
    site: &Site<'v>,
    chain: &Chain<'v>,
    role: &'v ChannelRole,
) -> Vec<WrittenTime<'v>> {
    let mut found: Vec<Found<'v>> = Vec::new();
    let own = role
        .motions
        .iter()
        .filter_map(|motion| motion.window.as_ref());
    for window in role.window.iter().chain(own) {
        let paths = match window {
            // How long it lasts stays as it is when it is moved.
            Window::Lasting { begin, .. } => vec![begin],
            window => window.paths(),
        };
        found.extend(
            paths
                .into_iter()
                .filter_map(|path| site.reader.value(chain, path)),
        );
    }
    for motion in &role.motions {
        if let Ends::Keyframes(keyframes) = &motion.ends {
            let frames = site.reader.elements(chain, &keyframes.at).into_iter();
            found.extend(frames.filter_map(|frame| site.reader.value(&frame, &keyframes.time)));
        }
    }
    let mut times: Vec<WrittenTime<'v>> = Vec::new();
    let mut known = HashSet::new();
    for found in found {
        let value_type = found.value_type();
        let first = times.len();
        for item in found.items(site.dialect, None) {
            let seconds = site
                .dialect
                .read_quantity(value_type, item.text, Some(Quantity::Time));
            let Some(seconds) = seconds else { continue };
            let time = (item.text.to_owned(), seconds);
            if known.insert(item.range) {
                times.push(WrittenTime {
                    range: item.range,
                    times: vec![time],
                    value_type,
                });
            } else if let Some(own) = times[first..]
                .iter_mut()
                .find(|own| own.range == item.range)
            {
                own.times.push(time);
            }
        }
    }
    times
}

/// The edits that make times `earlier` seconds less, in the habit in which
/// they are written.
pub(crate) fn moved(site: &Site<'_>, times: &[WrittenTime<'_>], earlier: f64) -> Vec<TextEdit> {
    let texts = times.iter().flat_map(|time| &time.times);
    let least = least_decimals(site.dialect, texts.map(|(text, _)| text.as_str()));
    let edit = |time: &WrittenTime<'_>| {
        let value_type = time.value_type;
        let moved = time.times.iter();
        let moved = moved.map(|(text, seconds)| {
            let seconds = seconds - earlier;
            written(site, value_type, text, seconds, least)
        });
        let mark = value_type
            .list
            .as_ref()
            .map(|list| list.separator.written());
        let moved: Vec<String> = moved.collect();
        TextEdit::replace(time.range, moved.join(mark.unwrap_or_default()))
    };
    times.iter().map(edit).collect()
}

/// A time in seconds as a value of this type says it, in the manner of `like`.
pub(crate) fn time_like(
    site: &Site<'_>,
    value_type: &ValueType,
    like: &str,
    seconds: f64,
) -> String {
    written(
        site,
        value_type,
        like,
        seconds,
        least_decimals(site.dialect, [like]),
    )
}

fn written(
    site: &Site<'_>,
    value_type: &ValueType,
    like: &str,
    seconds: f64,
    least: usize,
) -> String {
    let unit = site
        .dialect
        .read_quantity(value_type, "1", Some(Quantity::Time));
    let number = seconds / unit.filter(|unit| *unit != 0.0).unwrap_or(1.0);
    number_like(site.dialect, like, number, least)
}
