"""The second reader's network: a small encoder (all-MiniLM-L6-v2) and heads over each sentence of a window."""

from pathlib import Path

import torch
from torch import Tensor, nn
from torch.nn import functional as F
from torch.nn.utils.parametrize import register_parametrization

from notes.reading.second.reader import KINDS

LAYERS, WIDTH, HEADS, INNER, PLACES, VOCABULARY = 6, 384, 12, 1536, 512, 30_522
MEANING = 192


class Encoder(nn.Module):
    """BERT's encoder (Devlin et al. 2019): token ids (batch, length) to vectors (batch, length, 384)."""

    def __init__(self) -> None:
        super().__init__()
        self.words = nn.Embedding(VOCABULARY, WIDTH)
        self.places = nn.Embedding(PLACES, WIDTH)
        self.norm = nn.LayerNorm(WIDTH, eps=1e-12)
        self.drop = nn.Dropout(0.1)
        layer = nn.TransformerEncoderLayer(WIDTH, HEADS, INNER, 0.1, "gelu", layer_norm_eps=1e-12, batch_first=True)
        self.layers = nn.TransformerEncoder(layer, LAYERS, enable_nested_tensor=False)

    def forward(self, ids: Tensor, real: Tensor) -> Tensor:
        places = torch.arange(ids.shape[1], device=ids.device)
        x = self.drop(self.norm(self.words(ids) + self.places(places)))
        return self.layers(x, src_key_padding_mask=~real)

    def load_bert(self, weights: dict[str, Tensor]) -> None:
        """Take the weights of a BERT checkpoint."""
        own = {
            "words.weight": weights["embeddings.word_embeddings.weight"],
            "places.weight": weights["embeddings.position_embeddings.weight"]
            + weights["embeddings.token_type_embeddings.weight"][0],
            "norm.weight": weights["embeddings.LayerNorm.weight"],
            "norm.bias": weights["embeddings.LayerNorm.bias"],
        }
        for i in range(LAYERS):
            there, here = f"encoder.layer.{i}.", f"layers.layers.{i}."
            for kind in ("weight", "bias"):
                parts = [weights[f"{there}attention.self.{p}.{kind}"] for p in ("query", "key", "value")]
                own[f"{here}self_attn.in_proj_{kind}"] = torch.cat(parts)
                own[f"{here}self_attn.out_proj.{kind}"] = weights[f"{there}attention.output.dense.{kind}"]
                own[f"{here}linear1.{kind}"] = weights[f"{there}intermediate.dense.{kind}"]
                own[f"{here}linear2.{kind}"] = weights[f"{there}output.dense.{kind}"]
                own[f"{here}norm1.{kind}"] = weights[f"{there}attention.output.LayerNorm.{kind}"]
                own[f"{here}norm2.{kind}"] = weights[f"{there}output.LayerNorm.{kind}"]
        self.load_state_dict({name: tensor.float() for name, tensor in own.items()})

    def load_shipped(self, path: Path) -> None:
        """Take the weights of an encoder that `export.py` wrote, in the order in which it writes them."""
        import onnx
        from onnx import numpy_helper

        graph = onnx.load(path).graph
        constants = {c.name: torch.tensor(numpy_helper.to_array(c)) for c in graph.initializer}
        made: dict[str, Tensor] = {}
        matrices, biases, norms = [], [], []
        for node in graph.node:
            given = [constants.get(name) for name in node.input]
            if node.op_type == "DequantizeLinear":
                made[node.output[0]] = given[0].float() * given[1]
            elif node.op_type == "MatMul" and node.input[1] in made:
                matrices.append(made[node.input[1]].T)
                made[node.output[0]] = matrices[-1]
            elif node.op_type == "Add" and node.input[0] in made:
                biases.append(given[1])
            elif node.op_type == "LayerNormalization":
                norms.append(given[1:3])
        words, scale, places = (
            constants[node.input[0]] for node in graph.node if node.op_type == "Gather" and node.input[0] in constants
        )
        own = {"words.weight": words.float() * scale, "places.weight": places}
        own |= dict(zip(("norm.weight", "norm.bias"), norms[0], strict=True))
        for i in range(LAYERS):
            here, row = f"layers.layers.{i}.", slice(6 * i, 6 * i + 6)
            query, key, value, out, first, second = zip(matrices[row], biases[row], strict=True)
            for k, kind in enumerate(("weight", "bias")):
                own[f"{here}self_attn.in_proj_{kind}"] = torch.cat([query[k], key[k], value[k]])
                own[f"{here}self_attn.out_proj.{kind}"] = out[k]
                own[f"{here}linear1.{kind}"], own[f"{here}linear2.{kind}"] = first[k], second[k]
                own[f"{here}norm1.{kind}"], own[f"{here}norm2.{kind}"] = norms[1 + 2 * i][k], norms[2 + 2 * i][k]
        self.load_state_dict(own)

    def adapt(self, rank: int) -> None:
        """From here on only what is added to the layers' matrices is learned, and their biases and norms."""
        self.words.requires_grad_(False)
        self.places.requires_grad_(False)
        for layer in self.layers.layers:
            for owner, name in (
                (layer.self_attn, "in_proj_weight"),
                (layer.self_attn.out_proj, "weight"),
                (layer.linear1, "weight"),
                (layer.linear2, "weight"),
            ):
                getattr(owner, name).requires_grad_(False)
                register_parametrization(owner, name, LowRank(*getattr(owner, name).shape, rank))


class Heads(nn.Module):
    """What starts in a sentence, goes on in it, and which ids it speaks of; ids are told by likeness to a vector of
    each (a cosine classifier), so that a new id needs only a vector, not a training."""

    def __init__(self, faults: int, techniques: int, fixes: int):
        super().__init__()
        self.looks = nn.Parameter(torch.randn(len(KINDS), WIDTH) * 0.02)
        self.begins = nn.Parameter(torch.zeros(len(KINDS), WIDTH))
        self.goes_on = nn.Parameter(torch.zeros(len(KINDS), WIDTH))
        self.begins_bias = nn.Parameter(torch.full((len(KINDS),), -2.0))
        self.goes_on_bias = nn.Parameter(torch.full((len(KINDS),), -2.0))
        self.again = nn.Linear(WIDTH, 1)
        self.to_fault, self.to_technique, self.to_fix = (nn.Linear(WIDTH, MEANING) for _ in range(3))
        self.faults = nn.Parameter(torch.randn(faults, MEANING))
        self.techniques = nn.Parameter(torch.randn(techniques, MEANING))
        self.fixes = nn.Parameter(torch.randn(fixes, MEANING))
        self.sharp = nn.Parameter(torch.tensor([12.0, 12.0, 12.0]))
        self.fix_bias = nn.Parameter(torch.tensor(-6.0))

    def forward(self, tokens: Tensor, owner: Tensor) -> dict[str, Tensor]:
        """tokens (B, T, 384), owner (B, T): the number of the sentence that a token belongs to, S where to none."""
        pooled = self.pool(tokens.float(), owner)
        about = {
            "fault": F.normalize(self.to_fault(pooled[:, :, 0]), dim=-1),
            "technique": F.normalize(self.to_technique(pooled), dim=-1),
            "fix": F.normalize(self.to_fix(pooled[:, :, [0, 2]]), dim=-1),
        }
        return {
            "begins": (pooled * self.begins).sum(-1) + self.begins_bias,
            "goes_on": (pooled * self.goes_on).sum(-1) + self.goes_on_bias,
            "again": self.again(pooled[:, :, 0]).squeeze(-1),
            "fault": self.sharp[0] * about["fault"] @ F.normalize(self.faults, dim=-1).T,
            "technique": self.sharp[1] * about["technique"] @ F.normalize(self.techniques, dim=-1).T,
            "fix": self.sharp[2] * about["fix"] @ F.normalize(self.fixes, dim=-1).T + self.fix_bias,
        }

    def pool(self, tokens: Tensor, owner: Tensor) -> Tensor:
        """The tokens of each sentence in one vector for each kind (B, S, 4, 384), by attention within the sentence."""
        batch, _, width = tokens.shape
        count = int(owner.max())
        looks = tokens @ self.looks.T
        weight = (looks - looks.amax(1, keepdim=True).detach()).exp().clamp(min=1e-12)
        place = (owner + torch.arange(batch, device=owner.device)[:, None] * (count + 1)).flatten()
        total = weight.new_zeros(batch * (count + 1), len(KINDS)).index_add(0, place, weight.flatten(0, 1))
        shares = (weight.flatten(0, 1) / total[place])[..., None] * tokens.flatten(0, 1)[:, None]
        summed = tokens.new_zeros(batch * (count + 1), len(KINDS), width).index_add(0, place, shares)
        return summed.view(batch, count + 1, len(KINDS), width)[:, :count]


class LowRank(nn.Module):
    """A matrix that stays as it is, and a learned one of low rank added to it (Hu et al. 2021, "LoRA")."""

    def __init__(self, rows: int, columns: int, rank: int):
        super().__init__()
        self.up = nn.Parameter(torch.zeros(rows, rank))
        self.down = nn.Parameter(torch.randn(rank, columns) / columns**0.5)

    def forward(self, weight: Tensor) -> Tensor:
        return weight + self.up @ self.down


class Reader(nn.Module):
    """Encoder and heads."""

    def __init__(self, faults: int, techniques: int, fixes: int):
        super().__init__()
        self.encoder = Encoder()
        self.heads = Heads(faults, techniques, fixes)

    def forward(self, ids: Tensor, real: Tensor, owner: Tensor) -> dict[str, Tensor]:
        return self.heads(self.encoder(ids, real), owner)
