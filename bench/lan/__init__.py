"""The bench on the laboratory's own network: names, certificates, TLS, the page of trust, the doctor."""
