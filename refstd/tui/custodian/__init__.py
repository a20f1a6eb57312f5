"""The custodian's screens: the register, what is due, evidence, custody and care of the store."""
