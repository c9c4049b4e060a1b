"""What codes and the strength of wood allow: published tables as data, one function a rule, edition an argument."""
