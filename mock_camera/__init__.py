"""A simulated camera on loopback: a body that speaks PTP/IP, a table, and its lights."""
