"""The Picture Transfer Protocol as bytes: codes, datasets, packets of PTP/IP."""
