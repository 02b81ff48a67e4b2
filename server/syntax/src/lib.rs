//! Text to lossless XML tree: lexer, parser, incremental edit, positions, text edits.
