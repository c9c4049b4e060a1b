"""Five phones, a faulty wire and a server that is killed again and again: nothing may be lost, doubled or told apart."""
