"""A result as blocks, laid out as text, HTML or Markdown; numbers and words for people."""
