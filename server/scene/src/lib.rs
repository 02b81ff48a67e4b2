//! Node trees: glTF, GLB and the XML scenes that a dialect describes.
