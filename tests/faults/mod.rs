//! What happens when the daemon dies, the disk refuses, or somebody else holds the folder.

mod folder;
mod kill;
