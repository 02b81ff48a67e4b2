//! Files that are written whole or not at all.
//!
//! What is new is made beside its place, brought to the disk, and takes the place in one step. So whoever looks, and
//! whatever happens (an error, a full disk, a kill, a loss of power), finds the old or the new, whole. What a killed run
//! left behind is removed by the next one that writes into the same folder.

mod backup;
mod beside;
mod left;
mod replace;

pub use backup::{back_up, is_backup_of};
pub use beside::{Beside, keep_names_below, parent, taken};
pub use replace::{Replaced, create, replace};
