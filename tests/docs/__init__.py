"""The documents: generated parts current, console blocks run, examples hold, links resolve, words in bounds."""
