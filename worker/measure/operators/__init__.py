"""What each operator of a content stream does (ISO 32000-1 annex A), one module for each kind of operator."""
