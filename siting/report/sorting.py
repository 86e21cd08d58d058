"""The script that sorts a ranking's table by the column whose head is chosen."""
from __future__ import annotations

SCRIPT = """
document.querySelectorAll('table.ranks').forEach(function(table){
  table.querySelectorAll('thead th').forEach(function(head,column){
    var button=document.createElement('button');button.type='button';
    while(head.firstChild){button.appendChild(head.firstChild)}
    head.appendChild(button);
    button.addEventListener('click',function(){
      var up=head.getAttribute('aria-sort')!=='ascending';
      table.querySelectorAll('thead th').forEach(function(other){other.removeAttribute('aria-sort')});
      head.setAttribute('aria-sort',up?'ascending':'descending');
      var value=function(row){
        var text=row.cells[column].textContent.replace(/[^\\x20-\\x7e\\u00a0-\\uffff]/g,'').trim();
        var number=parseFloat(text.replace(/^\\u2265\\s*/,''));
        return isNaN(number)?text:number};
      var body=table.tBodies[0];
      Array.from(body.rows).sort(function(a,b){
        var x=value(a),y=value(b);
        if(typeof x!==typeof y){return typeof x==='number'?-1:1}
        return (x<y?-1:x>y?1:0)*(up?1:-1)}).forEach(function(row){body.appendChild(row)})})})});
"""
