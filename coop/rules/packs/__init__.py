"""
Local rules on waste as data, and what they say of one liquid at one drain.

Words of rules and facts stand in `words` and `amounts`, what a pack is in `schema`, strict
loading in `reading` and `facts_file`, the answer in `evaluation`. No figure of any town is in
the code: an answer better than "ask first" comes from a pack that somebody copied from a
letter, together with a permission that somebody recorded.
"""
