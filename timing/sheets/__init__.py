"""Documents on paper: from a finished page of HTML to the bytes of a PDF."""
