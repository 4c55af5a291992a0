"""Prints log-probabilities by PyTorch's ctc_loss, for the test in src/ctc.rs: (seed, labels, value)."""
import torch
import torch.nn.functional as F


def rows(seed, count):
    """The same pseudo-random rows over four classes as in the Rust test."""
    state, out = seed, []
    for _ in range(count):
        row = []
        for _ in range(38):
            state = (state * 6364136223846793005 + 1442695040888963407) % 2**64
            row.append((state >> 40) / 16_777_216.0)
        row = torch.tensor(row[:4], dtype=torch.float64)
        out.append(row / row.sum())
    return torch.stack(out)


for seed in (11, 12):
    for labels in ([1], [1, 2], [2, 2], [1, 2, 1, 3, 3], [3, 1, 3, 1, 2, 2, 2]):
        loss = F.ctc_loss(rows(seed, 30).log()[:, None], torch.tensor([labels]), torch.tensor([30]), torch.tensor([len(labels)]), blank=0, reduction="sum")
        print(f"({seed}, &[{', '.join(map(str, labels))}][..], {-loss.item():.9f}),")
