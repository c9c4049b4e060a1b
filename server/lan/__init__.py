"""HTTPS on the house's own network: an authority of its own, the certificate it signs, and who may be reached where."""
