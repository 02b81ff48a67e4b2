//! The times of channels as they are written, and the edits that move them.

use super::site::Site;
use crate::writer::{least_decimals, number_like};
use dialect::{ChannelRole, Quantity, ValueType, Window};
use machine::{Chain, Found};
use syntax::{TextEdit, TextRange};

/// A time and where it is written.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct WrittenTime<'v> {
    pub(crate) range: TextRange,
    /// As it stands there.
    pub(crate) text: String,
    pub(crate) seconds: f64,
    value_type: &'v ValueType,
}

/// All times that a channel is read from: of its window and of its motions'
/// own windows.
pub(crate) fn written_times<'v>(
    site: &Site<'v>,
    chain: &Chain<'v>,
    role: &'v ChannelRole,
) -> Vec<WrittenTime<'v>> {
    let windows = [&role.window].into_iter().chain(
        role.motions
            .iter()
            .filter_map(|motion| motion.window.as_ref()),
    );
    let mut times: Vec<WrittenTime<'v>> = Vec::new();
    for window in windows {
        let found: Vec<Found<'v>> = match window {
            Window::Pair { begin, end } => [begin, end]
                .into_iter()
                .filter_map(|path| site.reader.value(chain, path))
                .collect(),
            // How long it lasts stays as it is when it is moved.
            Window::Lasting { begin, .. } => site.reader.value(chain, begin).into_iter().collect(),
            Window::List(path) => site.reader.value(chain, path).into_iter().collect(),
        };
        for found in found {
            let value_type = found.value_type();
            for item in found.items(site.dialect, None) {
                let seconds =
                    site.dialect
                        .read_quantity(value_type, item.text, Some(Quantity::Time));
                let is_new = times.iter().all(|known| known.range != item.range);
                if let Some(seconds) = seconds.filter(|_| is_new) {
                    times.push(WrittenTime {
                        range: item.range,
                        text: item.text.to_owned(),
                        seconds,
                        value_type,
                    });
                }
            }
        }
    }
    times
}

/// The edits that make times `earlier` seconds less, in the habit in which
/// they are written.
pub(crate) fn moved(site: &Site<'_>, times: &[WrittenTime<'_>], earlier: f64) -> Vec<TextEdit> {
    let least = least_decimals(site.dialect, times.iter().map(|time| time.text.as_str()));
    let edit = |time: &WrittenTime<'_>| {
        let text = written(
            site,
            time.value_type,
            &time.text,
            time.seconds - earlier,
            least,
        );
        TextEdit::replace(time.range, text)
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
