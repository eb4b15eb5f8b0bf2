"""The serial line protocol as a pure state machine: bytes in, events out; no I/O and no clock.

The theory
==========
Two ends share a line that damages, loses and repeats. The host wants each command executed exactly
once, in order, or to be told that it can't know. What it has to work with is little:

* Towards the controller every line carries a number and a checksum. The controller executes a line
  only if its number is the last one plus one. So *sending the same numbered line again is always
  harmless*: it is executed if it was not, refused if it was. Exactly-once needs nothing else, and
  everything irregular below is answered by sending a line again.
* Towards the host there is no checksum, and a plain `ok` names no line. So *no single reply is
  believed to change anything that can't be mended later*. The worst a false `ok` can do is to make
  us go on too soon; the next line is then refused for its number, and we go back (below).

One command is outstanding at a time: stop and wait. What can happen to line n, and the answer:

Damaged on the way.     The controller asks for n: n is sent again. Its complaint ("last line n-1")
                        and its request ("resend n") say the same, so one of them is enough.
`ok` lost or damaged.   The deadline passes and n is sent again. If it had been executed the
                        controller refuses the number and asks for n + 1: n is done, once. A second
                        deadline in silence means that nobody is there; if something was heard,
                        the answer was only damaged again, and it takes five. Deadlines come in as
                        inputs that name their line, so a late one changes nothing.
`ok` doubled.           An `ok` while nothing is out changes nothing. One that names another line
                        changes nothing. A plain one that arrives when n + 1 is out can't be told
                        from its own; n + 1 is taken for done too soon, and all later answers would
                        be one too early. Hence *proof*: an `ok` to a command that asks for a report
                        (M114, say) is not believed until the report was seen. The command is
                        then sent again and either proves itself or is refused as already done.
                        Each motion ends with M114, so each motion falls into step again. Where
                        something unreadable came first, that was the report: the `ok` is its own,
                        and whoever asked may ask anew. Sent again it would only be refused.
`ok` believed too soon  though n was damaged. n + 1 is then refused and n asked for: we go back and
                        send n, then n + 1, from history.
Reset.                  The banner says so. If that is damaged, the numbers do: a controller that
                        has just started asks for line 1.
Request out of reason.  For a number never sent, or too old: a digit may have been damaged. It is
                        doubted once, and the line is sent again to hear it once more; a second
                        time it is a fault.

Duplicates breed duplicates: a refused copy yields another request, which, if obeyed, puts another
copy on the way, for ever. And a request is *usually* followed by an `ok` of its own, which must not
acknowledge the line. Both end with one rule: *after anything irregular, the line must fall quiet
before anything is sent.* What arrives until then belongs to the past and is absorbed. The host's
clock says when it is quiet, and that too is an input.

A thermal fault stands above all that: from the line that tells of one nothing is sent any more but
that the heaters be off, whatever the controller goes on to acknowledge.
"""
