"""Small typed functions on SI floats, each with its formula, domain and source. Knows no units, rigs, tables, words or pictures."""
