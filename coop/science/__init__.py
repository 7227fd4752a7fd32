"""
The sums of the studio: numbers in, numbers out, nothing opened.

Inside are mL, L, g, mmol, m2, s and degrees Celsius as plain floats; units stand last in
every name. Every figure carries unit, range, source and mark, every public function the
sections Args, Returns, Valid for, Source and Example.
"""
