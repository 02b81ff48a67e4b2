use super::*;

/// A URI as an editor writes it; the path, if it is a file; the URI as we write it.
struct Case(&'static str, Option<&'static str>, &'static str);

fn check(system: System, cases: &[Case]) {
    for Case(written, path, ours) in cases {
        let url = Url::parse(written).unwrap();
        let found = path_on(system, &url);
        assert_eq!(found.as_deref(), path.map(Path::new), "{written}");
        let known = found.unwrap_or_else(|| PathBuf::from(url.as_str()));
        let back = uri_on(system, &known).or_else(|| Url::parse(known.to_str()?).ok());
        assert_eq!(back.as_ref().map(Url::as_str), Some(*ours), "{written}");
        // Whatever we write is the same document again.
        assert_eq!(
            path_on(system, &back.unwrap()).as_deref(),
            path.map(Path::new)
        );
    }
}

#[test]
fn on_windows() {
    let quay = Some(r"C:\mods\bram.machine.xml");
    let ours = "file:///C:/mods/bram.machine.xml";
    check(
        System::Windows,
        &[
            // VS Code writes the first, others the second; the third and the fourth are seen, too.
            Case("file:///c%3A/mods/bram.machine.xml", quay, ours),
            Case("file:///C:/mods/bram.machine.xml", quay, ours),
            Case("file:///c:/mods/bram.machine.xml", quay, ours),
            Case("file:///C%3a/mods/bram.machine.xml", quay, ours),
            Case("file://localhost/c:/mods/bram.machine.xml", quay, ours),
            Case("file:///c|/mods/bram.machine.xml", quay, ours),
            Case("file:///c%3A/m%6Fds/bram.machine%2Exml", quay, ours),
            Case("file:///c:/mods/../mods/./bram.machine.xml", quay, ours),
            Case(
                "file:///d%3A/my%20mods/Gr%C3%BCn/a%23b.xml",
                Some(r"D:\my mods\Grün\a#b.xml"),
                "file:///D:/my%20mods/Gr%C3%BCn/a%23b.xml",
            ),
            Case(
                "file:///D:/my mods/Grün/100%25.xml",
                Some(r"D:\my mods\Grün\100%.xml"),
                "file:///D:/my%20mods/Gr%C3%BCn/100%25.xml",
            ),
            Case("file:///c:/", Some(r"C:\"), "file:///C:/"),
            Case(
                "file://quay/share/my%20mods/a.xml",
                Some(r"\\quay\share\my mods\a.xml"),
                "file://quay/share/my%20mods/a.xml",
            ),
            // No drive, or a step that hides others: no file, but a document all the same.
            Case("file:///mods/a.xml", None, "file:///mods/a.xml"),
            Case("file:///cc:/a.xml", None, "file:///cc:/a.xml"),
            Case(
                "file:///c:/a%5C..%5Cb.xml",
                None,
                "file:///c:/a%5C..%5Cb.xml",
            ),
            Case("file:///c:/a%2Fb.xml", None, "file:///c:/a%2Fb.xml"),
            Case("untitled:Untitled-1", None, "untitled:Untitled-1"),
            Case(
                "vscode-remote://box/c:/a.xml",
                None,
                "vscode-remote://box/c:/a.xml",
            ),
        ],
    );
}

#[test]
fn what_windows_calls_a_true_name_is_written_as_usual() {
    for (path, uri) in [
        (r"\\?\C:\mods\a.xml", "file:///C:/mods/a.xml"),
        (r"\\?\UNC\quay\share\a.xml", "file://quay/share/a.xml"),
        (r"c:/mods/a.xml", "file:///C:/mods/a.xml"),
    ] {
        let found = uri_on(System::Windows, Path::new(path));
        assert_eq!(found.as_ref().map(Url::as_str), Some(uri));
    }
    assert_eq!(uri_on(System::Windows, Path::new(r"mods\a.xml")), None);
}

#[test]
fn on_other_systems() {
    check(
        System::Unix,
        &[
            Case(
                "file:///quay/a%20b.xml",
                Some("/quay/a b.xml"),
                "file:///quay/a%20b.xml",
            ),
            Case(
                "file:///qu%61y/a%2Exml",
                Some("/quay/a.xml"),
                "file:///quay/a.xml",
            ),
            Case(
                "file:///quay/Gr%C3%BCn.xml",
                Some("/quay/Grün.xml"),
                "file:///quay/Gr%C3%BCn.xml",
            ),
            Case(
                "file:///quay/Grün.xml",
                Some("/quay/Grün.xml"),
                "file:///quay/Gr%C3%BCn.xml",
            ),
            Case(
                "file:///quay/a%23b%3Fc.xml",
                Some("/quay/a#b?c.xml"),
                "file:///quay/a%23b%3Fc.xml",
            ),
            Case(
                "file:///quay/%5Ca.xml",
                Some(r"/quay/\a.xml"),
                "file:///quay/%5Ca.xml",
            ),
            Case(
                "file://localhost/quay/a.xml",
                Some("/quay/a.xml"),
                "file:///quay/a.xml",
            ),
            // From a client on Windows whose server is elsewhere: nothing is found there, but all else works.
            Case(
                "file:///c%3A/mods/a.xml",
                Some("/c:/mods/a.xml"),
                "file:///c:/mods/a.xml",
            ),
            Case("file://quay/share/a.xml", None, "file://quay/share/a.xml"),
            Case("untitled:Untitled-1", None, "untitled:Untitled-1"),
            Case(
                "untitled:/mods/new.machine.xml",
                None,
                "untitled:/mods/new.machine.xml",
            ),
            Case(
                "vscode-remote://box/quay/a.xml",
                None,
                "vscode-remote://box/quay/a.xml",
            ),
        ],
    );
}
