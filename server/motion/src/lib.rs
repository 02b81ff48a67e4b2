//! Poses over time: travel, track width, contested parts, proof that a change kept the motion.
