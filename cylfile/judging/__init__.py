"""The whole way through: a record and its rules to findings, and the answer at the fill station."""
