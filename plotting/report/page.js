for (const log of document.querySelectorAll('.log')) {
  const pick = log.querySelector('.pick'), rows = log.querySelectorAll('tr[id]');
  if (!pick) continue;
  const range = pick.querySelector('input'), said = pick.querySelector('output');
  const light = dive => {
    log.querySelectorAll('.lit').forEach(e => e.classList.remove('lit'));
    for (const over of log.querySelectorAll('.over')) {
      let at = null;
      for (const g of over.querySelectorAll('[data-d]')) if (!at || dive >= g.dataset.d) at = g;
      if (at) at.classList.add('lit');
    }
    const row = rows[dive], link = document.createElement('a');
    row.classList.add('lit');
    link.href = '#' + row.id;
    link.textContent = 'its row';
    said.replaceChildren([...row.querySelectorAll('.say')].map(c => c.textContent).filter(t => t).join('; ') + ' ', link);
    pick.classList.add('on');
    range.value = dive;
  };
  pick.hidden = false;
  range.addEventListener('input', () => light(+range.value));
  log.addEventListener('click', e => { const g = e.target.closest('[data-d]'); if (g) light(+g.dataset.d); });
}
