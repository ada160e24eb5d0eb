"""Many kept orders priced at once, in whole numbers of 64 bits.

Only who prices many imports these modules: they load NumPy.
"""
