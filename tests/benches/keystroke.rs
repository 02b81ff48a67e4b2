//! How long an editor waits: from a change to the diagnostics of that change, over the built server's standard input and
//! output, all checks on, the scene and the sounds beside the definition. `cargo bench -p acceptance --bench keystroke`
//! prints a table of medians in milliseconds.

use std::fs;
use std::time::{Duration, Instant};

use acceptance::client::{self, Client};
use acceptance::{generate, outside};
use serde_json::{Value, json};

const SIZES: [usize; 4] = [10_000, 100_000, 1_000_000, 10_000_000];
const EDITS: usize = 20;

fn main() {
    outside::say("bytes      open     break    repair   (ms: medians of change to diagnostics)");
    for size in SIZES {
        let [open, broken, repaired] = measure(size).map(|time| time.as_secs_f64() * 1e3);
        outside::say(&format!(
            "{size:<10} {open:<8.2} {broken:<8.2} {repaired:<8.2}"
        ));
    }
}

/// Opening; then the medians of typing a `<` in front of an attribute in the middle, and of taking it away again.
fn measure(size: usize) -> [Duration; 3] {
    let folder = std::env::temp_dir().join(format!("trunnion-bench-{}-{size}", std::process::id()));
    let text = generate::machine(size, 1);
    fs::create_dir_all(folder.join("sounds")).expect("a folder can be made");
    fs::write(folder.join("big.gltf"), generate::scene(&text)).expect("the scene can be written");
    for n in 0..4 {
        fs::write(folder.join(format!("sounds/pump{n}.ogg")), "OggS")
            .expect("a sound can be written");
    }
    let uri = format!("file://{}/big.machine.xml", folder.display());
    let middle = text.len() / 2;
    let at = middle + text[middle..].find("<channel ").expect("a channel") + "<channel ".len();
    let line = text[..at].matches('\n').count();
    let column = at - text[..at].rfind('\n').map_or(0, |newline| newline + 1);

    let mut client = Client::with(&client::push_capabilities());
    let start = Instant::now();
    client.open(&uri, 1, &text);
    let found = client.pushed_diagnostics(&uri, 1);
    let open = start.elapsed();
    assert_eq!(
        found,
        Vec::<Value>::new(),
        "the machine has nothing to report"
    );
    let mut times = [Vec::new(), Vec::new()];
    for edit in 0..2 * EDITS {
        let version = 2 + i64::try_from(edit).expect("a small number");
        let breaks = edit % 2 == 0;
        let (end, insert) = if breaks {
            (column, "<")
        } else {
            (column + 1, "")
        };
        let change = json!([{
            "range": {"start": {"line": line, "character": column}, "end": {"line": line, "character": end}},
            "text": insert,
        }]);
        let start = Instant::now();
        client.change(&uri, version, change);
        let found = client.pushed_diagnostics(&uri, version);
        times[edit % 2].push(start.elapsed());
        assert_eq!(
            found.is_empty(),
            !breaks,
            "the diagnostics are those of this edit"
        );
    }
    assert_eq!(client.finish(), 0);
    let _ = fs::remove_dir_all(&folder);
    let [mut broken, mut repaired] = times;
    broken.sort();
    repaired.sort();
    [open, broken[EDITS / 2], repaired[EDITS / 2]]
}
