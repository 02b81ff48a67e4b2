//! Trunnion without an editor: a page on this computer with an editor in it, a mod, and the preview beside it.
//!
//! [`answers`] says what each address gets, [`folder`] which files the page may read and write, [`session`] puts a language
//! server behind a web socket, [`demo`] has the mod that is shown if none is named. The page itself is in
//! `editor-clients/try-page`.

mod answers;
mod demo;
mod folder;
mod session;

use std::io;
use std::sync::Arc;

use futures::future::FutureExt;

use crate::loopback;

pub(crate) use demo::unpack as unpack_demo;
pub(crate) use folder::Folder;

/// What to do about a program without the page.
pub(crate) const NOT_BUILT: &str = "this program was built without the page to try it in. In Trunnion's folder, run \
     editor-clients/try-page/build and editor-clients/preview-page/build (they need Node 20), then build Trunnion again.";

/// Whether the page's script was there when the program was built.
pub(crate) fn is_built() -> bool {
    !answers::SCRIPT.is_empty()
}

/// Serves the page for a mod until the process ends; its address.
///
/// # Errors
/// There is no port, no thread or no random number to be had.
pub(crate) fn serve(folder: Folder) -> io::Result<String> {
    let page = Arc::new(answers::Page {
        token: loopback::token()?,
        folder,
    });
    let token = page.token.clone();
    let answer = move |request, own| answers::to(request, own, page.clone()).boxed();
    let address = loopback::open("try", Arc::new(answer))?;
    Ok(format!("http://{address}/{token}/"))
}
