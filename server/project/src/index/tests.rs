use super::*;
use crate::config::Config;
use crate::fixture;
use std::sync::atomic::{AtomicUsize, Ordering};
use tempfile::TempDir;

struct Desk {
    folder: TempDir,
}

impl Desk {
    fn new() -> Self {
        let folder = fixture::folder();
        fs::create_dir(folder.path().join("mods")).unwrap();
        Self { folder }
    }

    fn at(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// A file that changed an hour ago, and so many seconds.
    fn write(&self, name: &str, text: &str, seconds: u64) {
        let path = self.at("mods").join(name);
        fs::write(&path, text).unwrap();
        let time = SystemTime::now() - Duration::from_secs(3600 + seconds);
        let file = fs::File::options().write(true).open(path).unwrap();
        file.set_modified(time).unwrap();
    }

    fn roots(&self) -> Vec<PathBuf> {
        vec![self.at("mods")]
    }

    fn read(&self) -> Index {
        let cache = self.at("cache");
        super::read(&self.roots(), Some(&cache), &Limits::default(), &|_| {})
    }

    fn cache(&self) -> PathBuf {
        self.at("cache").join(cache::file_name(&self.roots()))
    }
}

fn roots(index: &Index) -> Vec<&str> {
    let documents = index.corpus.documents.iter();
    documents
        .map(|document| index.corpus.text(document.elements[0].name))
        .collect()
}

#[test]
fn only_changed_files_are_read_again() {
    let desk = Desk::new();
    desk.write("a.xml", "<a/>", 0);
    desk.write("b.xml", "<b/>", 0);
    desk.write("noise.ogg", "OggS", 0);
    let first = desk.read();
    assert_eq!((roots(&first), first.read), (vec!["a", "b"], 3));
    assert_eq!(first.not_kept, None);
    let kept = fs::read(desk.cache()).unwrap();
    let again = desk.read();
    assert_eq!((roots(&again), again.read), (vec!["a", "b"], 0));
    assert_eq!(fs::read(desk.cache()).unwrap(), kept);

    desk.write("b.xml", "<c/>", 7);
    desk.write("aa.xml", "<d>x</d>", 0);
    let changed = desk.read();
    assert_eq!((roots(&changed), changed.read), (vec!["a", "d", "c"], 2));
    fs::remove_file(desk.at("mods/a.xml")).unwrap();
    let gone = desk.read();
    assert_eq!((roots(&gone), gone.read), (vec!["d", "c"], 0));
    assert_eq!(gone.corpus.symbols.find("b"), None, "nothing old is kept");
    assert_eq!(roots(&desk.read()), ["d", "c"]);
}

#[test]
fn a_file_that_changes_right_now_is_read_again() {
    let desk = Desk::new();
    fs::write(desk.at("mods/a.xml"), "<a/>").unwrap();
    assert_eq!(desk.read().read, 1);
    assert_eq!(desk.read().read, 1);
}

#[test]
fn what_was_too_large_is_read_once_it_may_be() {
    let desk = Desk::new();
    desk.write("a.xml", &format!("<a>{}</a>", " ".repeat(2 << 20)), 0);
    let cache = desk.at("cache");
    let read = |document| {
        let limits = Limits {
            document,
            ..Limits::default()
        };
        super::read(&desk.roots(), Some(&cache), &limits, &|_| {})
    };
    let small = read(crate::Size::SMALLEST);
    assert_eq!((roots(&small).len(), small.unread.len()), (0, 1));
    assert_eq!(read(crate::Size::SMALLEST).read, 0);
    assert_eq!(roots(&read(Limits::default().document)), ["a"]);
}

#[test]
fn a_damaged_or_foreign_index_is_made_anew() {
    let desk = Desk::new();
    desk.write("a.xml", "<a one='1'/>", 0);
    desk.read();
    let sound = fs::read(desk.cache()).unwrap();
    let mut broken: Vec<Vec<u8>> = (0..sound.len()).map(|at| sound[..at].to_vec()).collect();
    for at in 0..sound.len() {
        let mut damaged = sound.clone();
        damaged[at] ^= 0x10;
        broken.push(damaged);
    }
    broken.push([&sound[..], b"more"].concat());
    for bytes in broken {
        fs::write(desk.cache(), bytes).unwrap();
        assert!(cache::load(&desk.cache(), &desk.roots()).is_none());
    }
    let index = desk.read();
    assert_eq!((roots(&index), index.read), (vec!["a"], 1));
    assert_eq!(fs::read(desk.cache()).unwrap(), sound);
    assert!(cache::load(&desk.cache(), &[PathBuf::from("/other")]).is_none());
}

#[test]
fn many_at_once_get_the_same_and_leave_nothing_half_written() {
    let desk = Desk::new();
    for at in 0..40 {
        desk.write(&format!("{at:02}.xml"), &format!("<r{at}/>"), 0);
    }
    let read = AtomicUsize::new(0);
    std::thread::scope(|scope| {
        for _ in 0..8 {
            scope.spawn(|| {
                let index = desk.read();
                assert_eq!(index.corpus.documents.len(), 40);
                read.fetch_add(index.read, Ordering::Relaxed);
            });
        }
    });
    assert_eq!(read.into_inner(), 40, "one reads, the others wait");
    let left = fs::read_dir(desk.at("cache")).unwrap().flatten();
    let mut left: Vec<String> = left
        .map(|it| it.file_name().into_string().unwrap())
        .collect();
    left.retain(|name| name.ends_with(".tmp"));
    assert_eq!(left, [""; 0]);
}

#[test]
fn a_folder_that_cannot_be_written_loses_the_index_and_nothing_else() {
    let desk = Desk::new();
    desk.write("a.xml", "<a/>", 0);
    // A file stands where the folder should be made.
    fs::write(desk.at("cache"), "").unwrap();
    let index = desk.read();
    assert_eq!(roots(&index), ["a"]);
    assert!(index.not_kept.is_some());
}

#[test]
fn data_is_not_kept() {
    let desk = Desk::new();
    let long = "7 ".repeat(200);
    desk.write("a.xml", &format!("<a n='{long}' m='1'>{long}</a>"), 0);
    let index = desk.read();
    assert_eq!(index.corpus.symbols.find(&long), None);
    assert!(index.corpus.symbols.find("m").is_some());
}

#[test]
fn what_is_in_an_archive_can_be_opened_and_not_be_written_to() {
    let desk = Desk::new();
    let archive = desk.at("mods/old.zip");
    fixture::archive(&archive, &[("rafts/a.xml", b"<raft/>")]);
    let index = desk.read();
    let source = &index.corpus.documents[0].source;
    let source = library::Source {
        file: source.file.clone(),
        member: source.member.clone(),
    };
    assert_eq!(source.member.as_deref(), Some("rafts/a.xml"));
    let config = Config {
        cache_folder: Some(desk.at("cache")),
        ..Config::default()
    };
    let copy = readable(&source, &config).unwrap();
    assert!(copy.starts_with(desk.at("cache")) && copy.ends_with("a.xml"));
    assert_eq!(fs::read_to_string(&copy).unwrap(), "<raft/>");
    assert!(fs::metadata(&copy).unwrap().permissions().readonly());
    // A second time it is there already.
    assert_eq!(readable(&source, &config), Some(copy));
    // A file is opened where it is; without a folder for copies there is none.
    let file = library::Source {
        member: None,
        ..source.clone()
    };
    assert_eq!(readable(&file, &Config::default()), Some(archive));
    assert_eq!(readable(&source, &Config::default()), None);
    let gone = library::Source {
        member: Some("../../b.xml".to_owned()),
        ..source
    };
    assert_eq!(readable(&gone, &config), None);
}
