"""One file a maker: its papers, what importers and dealers say about its vehicles, and the claims made from them."""
