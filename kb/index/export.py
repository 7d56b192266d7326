"""A checkpoint becomes the encoder that ships: one ONNX graph from tokens to unit vectors, proven before it is kept.

`./scripts/export-encoder` writes kb/encoder; with `--fp32 DIR` it writes the same without quantisation into DIR.
"""

from __future__ import annotations

import argparse
import re
import shutil
import sys
import tempfile
import warnings
from importlib.metadata import version
from pathlib import Path
from typing import Any

from kb.errors import DrillkbError, EncoderUnusable
from kb.index.encode import PACKAGED, OnnxEncoder
from kb.index.manifest import FORMAT, Manifest, Source, describe_file, write_manifest
from kb.index.quantise import METHOD, quantise
from kb.index.reference import (
    CHECKPOINT_SHA256,
    EXTRA,
    PACKAGE,
    WEIGHTS,
    checkpoint_package,
    load_model,
    packaged_checkpoint,
)

NAME = "all-MiniLM-L6-v2"
MODEL, TOKENIZER, NOTICE = "model.onnx", "tokenizer.json", "NOTICE"
OPSET = 17
"""Set of ONNX operators; every onnxruntime that pyproject.toml allows knows it."""

LEAST_COSINE = 0.98
"""Mean cosine to the checkpoint under which an export is thrown away."""
PROOF = (
    "her shoulders close when she kicks to handstand",
    "keeps landing short on the vault",
    "bent arms in the cast",
    "Stand on the line, arms by the ears, and lift the heel before the knee.",
    "what is for dinner tonight",
)
"""Sentences of an export's own proof; the tests use many more."""

BUILT_WITH = ("torch", "transformers", "sentence-transformers", "onnx", "onnxruntime", "tokenizers", "numpy")


def export_packaged(folder: Path, *, int8: bool = True) -> Manifest:
    """Export the packaged checkpoint into `folder`. Raises EncoderUnusable without the extra `models`."""
    checkpoint = packaged_checkpoint()
    return write_encoder(load_model(checkpoint), packaged_source(checkpoint), NAME, folder, int8=int8)


def packaged_source(checkpoint: Path) -> Source:
    """Return where the packaged checkpoint comes from, with both licences as the package states them."""
    package = checkpoint_package()
    card = (checkpoint / "README.md").read_text(encoding="utf-8")
    stated = re.search(r"^license: *(\S+)", card, re.MULTILINE)
    return Source(
        package=PACKAGE,
        version=package.version,
        checkpoint=WEIGHTS,
        sha256=CHECKPOINT_SHA256,
        weights_licence=stated[1] if stated else "not stated",
        package_licence=package.metadata["License"],
    )


def write_encoder(model: Any, source: Source, name: str, folder: Path, *, int8: bool = True) -> Manifest:
    """Export a SentenceTransformer with mean pooling into `folder`, replacing the encoder there.

    Raises EncoderUnusable, and leaves the folder as it was, when the result is not close to the model.
    """
    with tempfile.TemporaryDirectory() as scratch:
        draft = Path(scratch)
        _save_graph(model, draft / MODEL, int8=int8)
        _save_tokenizer(model, draft / TOKENIZER)
        manifest = _manifest(model, source, f"{name} ({'int8' if int8 else 'fp32'})", draft, int8=int8)
        write_manifest(draft, manifest)
        (draft / NOTICE).write_text(_notice(name, source, int8=int8), encoding="utf-8")
        _prove(model, draft)
        folder.mkdir(parents=True, exist_ok=True)
        for file in draft.iterdir():
            shutil.copyfile(file, folder / file.name)
    return manifest


def _save_graph(model: Any, path: Path, *, int8: bool) -> None:
    try:
        import onnx
    except ImportError as error:
        raise EncoderUnusable(path.name, f"onnx is not installed; {EXTRA}.") from error
    _trace(model, path)
    if int8:
        onnx.save(quantise(onnx.load(path)), path)


def _trace(model: Any, path: Path) -> None:
    import torch

    transformer = model[0].auto_model.cpu().eval()
    transformer.set_attn_implementation("eager")  # the fused kinds of attention do not trace
    tokens = torch.ones(2, 7, dtype=torch.long)  # any two sizes above 1: both are declared free below
    free = {0: "batch", 1: "length"}
    with warnings.catch_warnings():
        # The tracer warns of shapes that become constants and that it is the old exporter. The first is what the
        # tests over texts of all lengths are for; the new exporter needs a package more and gives the same graph.
        warnings.simplefilter("ignore")
        torch.onnx.export(
            _pooled(transformer),
            (tokens, tokens),
            str(path),
            input_names=["input_ids", "attention_mask"],
            output_names=["vector"],
            dynamic_axes={"input_ids": free, "attention_mask": free, "vector": {0: "batch"}},
            opset_version=OPSET,
            dynamo=False,
        )


def _pooled(transformer: Any) -> Any:
    """Wrap a transformer so that it gives the mean of its token vectors, scaled to length 1."""
    import torch

    class Pooled(torch.nn.Module):
        def __init__(self) -> None:
            super().__init__()
            self.transformer = transformer

        def forward(self, input_ids: torch.Tensor, attention_mask: torch.Tensor) -> torch.Tensor:
            states = self.transformer(input_ids=input_ids, attention_mask=attention_mask).last_hidden_state
            real = attention_mask.unsqueeze(-1).to(states.dtype)  # 0 where padding stands
            return torch.nn.functional.normalize((states * real).sum(1) / real.sum(1), dim=1)

    return Pooled()


def _save_tokenizer(model: Any, path: Path) -> None:
    from tokenizers import Tokenizer

    tokenizer = Tokenizer.from_str(model.tokenizer.backend_tokenizer.to_str())
    # The checkpoint's own file cuts at 128 tokens and pads everything to 128; the window in the manifest counts.
    tokenizer.no_truncation()
    tokenizer.no_padding()
    tokenizer.save(str(path), pretty=False)


def _manifest(model: Any, source: Source, name: str, draft: Path, *, int8: bool) -> Manifest:
    return Manifest(
        format=FORMAT,
        name=name,
        source=source,
        model=describe_file(draft / MODEL),
        tokenizer=describe_file(draft / TOKENIZER),
        dimension=model.get_embedding_dimension(),
        window=model.max_seq_length,
        pooling="mean of the token vectors, scaled to length 1, inside the graph",
        quantisation=METHOD if int8 else "none (fp32)",
        built_with={library: version(library) for library in BUILT_WITH},
    )


def _notice(name: str, source: Source, *, int8: bool) -> str:
    rounded = ", weights rounded to int8" if int8 else ""
    taught = "taught the words of the gym (scripts/train-encoder); " if name != NAME else ""
    return (
        f"{MODEL} and {TOKENIZER} are made from {NAME}, a text encoder by the sentence-transformers project,\n"
        f"licence {source.weights_licence} (the text is in the file LICENSE of drillkb).\n"
        f"Changed by drillkb: {taught}converted to ONNX, pooling and normalisation inside{rounded};\n"
        "cutting and padding taken out of the tokenizer.\n"
        f"Taken from {source.package} {source.version}, file {source.checkpoint}, SHA-256\n"
        f"{source.sha256}; that package's own code is {source.package_licence}.\n"
    )


def _prove(model: Any, draft: Path) -> None:
    ours = OnnxEncoder(draft).encode(PROOF)
    theirs = model.encode(list(PROOF), normalize_embeddings=True, show_progress_bar=False)
    cosine = float((ours * theirs).sum(axis=1).mean())
    if cosine < LEAST_COSINE:
        found = f"its vectors have a mean cosine of {cosine:.3f} to the checkpoint's where {LEAST_COSINE} is the least"
        raise EncoderUnusable(MODEL, f"{found}; nothing was written.")


def main(arguments: list[str] | None = None) -> int:
    """Run the script: write the shipped encoder, or an fp32 one elsewhere. Returns the exit code."""
    parser = argparse.ArgumentParser(prog="export-encoder", description="Make the shipped encoder from its checkpoint.")
    parser.add_argument("--fp32", type=Path, metavar="DIR", help="write the unquantised encoder into DIR instead")
    folder: Path | None = parser.parse_args(arguments).fp32
    try:
        manifest = export_packaged(folder or PACKAGED, int8=folder is None)
    except DrillkbError as error:
        print(f"export-encoder: {error}", file=sys.stderr)
        return error.exit_code
    size = f"{manifest.model.bytes / 1e6:.1f} MB"
    print(f"{manifest.name}: {size}, {manifest.dimension} dimensions, {manifest.window} tokens")
    return 0


if __name__ == "__main__":
    sys.exit(main())
