//! The page as it is in this program.

/// What to do about a program without the page.
pub(crate) const NOT_BUILT: &str = "this program was built without the preview's page. In Trunnion's folder, run \
     editor-clients/preview-page/build (it needs Node 20), then build Trunnion again.";

pub(super) const HTML: &str = include_str!("../../../../editor-clients/preview-page/page.html");
pub(super) const STYLE: &str = include_str!("../../../../editor-clients/preview-page/page.css");
pub(super) const SCRIPT: &[u8] = include!(concat!(env!("OUT_DIR"), "/preview-page.rs"));

/// Whether the page's script was there when the program was built.
pub(crate) fn is_built() -> bool {
    !SCRIPT.is_empty()
}
