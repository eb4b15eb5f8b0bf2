"""The true gap: the tie of reading and nozzle, the mean gap by it, and whether that is on target.

Accuracy is two things (ISO 5725-1:1994, 3.6, 3.7 and 3.12; from memory): trueness, how closely the
mean of very many settings agrees with the value accepted as true, usually said by the bias between
them; and precision, how closely settings agree with each other, usually said by their standard
deviation. Neither says anything of the other. Here is trueness: the accepted value is the gap that
was wanted, and the bias is how far off target the mean gap is. Precision is `metrology/spread`.
"""
