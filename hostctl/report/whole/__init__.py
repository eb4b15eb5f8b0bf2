"""The whole report of runs: what was found, how every reading lies, how it was done."""
